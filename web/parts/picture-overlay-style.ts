import { css } from 'lit';

/** Lines and labels of the drawing. Told apart by stroke and dash as well as by colour; a light halo keeps them readable on any photo. */
export const pictureOverlayStyle = css`
  svg {
    display: block;
    height: 100%;
    overflow: hidden;
    pointer-events: none;
    width: 100%;
  }
  :where(path:not(.tint)) {
    fill: none;
  }
  path {
    stroke-linecap: butt;
    stroke-linejoin: round;
    vector-effect: non-scaling-stroke;
  }
  .halo {
    stroke: var(--draw-halo);
    stroke-opacity: 0.75;
    stroke-width: 4;
  }
  .rails {
    stroke: var(--draw-rail);
    stroke-width: 1.25;
  }
  .edge {
    stroke: var(--draw-edge);
    stroke-width: 2.5;
  }
  .gaps {
    stroke: var(--draw-gap);
    stroke-width: 2.5;
  }
  .joints {
    stroke: var(--draw-rail);
    stroke-width: 1.25;
  }
  .clearances {
    stroke: var(--draw-edge);
    stroke-dasharray: 2 3;
    stroke-width: 2.5;
  }
  .hidden {
    stroke: var(--draw-hidden);
    stroke-dasharray: 7 6;
    stroke-width: 3;
  }
  .markers {
    stroke: var(--draw-hidden);
    stroke-width: 1.5;
  }
  .coverage {
    stroke: var(--draw-gap);
    stroke-width: 3;
  }
  .unseen {
    stroke-dasharray: 9 6;
  }
  .chosen {
    stroke-width: 5;
  }
  .wishes {
    stroke: var(--draw-gap);
    stroke-width: 2;
  }
  .area {
    fill: var(--draw-gap);
    fill-opacity: 0.16;
  }
  .planned {
    stroke: var(--draw-gap);
    stroke-dasharray: 8 3;
    stroke-width: 2;
  }
  .corrections {
    stroke: var(--draw-hidden);
    stroke-width: 3;
  }
  .corrections.area {
    fill: var(--draw-hidden);
  }
  .handle circle {
    fill: #fffdf6;
    stroke: #24231f;
    stroke-width: 2;
  }
  .handle path {
    stroke: #24231f;
    stroke-width: 2;
  }
  .name circle {
    fill: var(--draw-edge);
    stroke: var(--draw-halo);
    stroke-width: 1.5;
  }
  .name.run circle {
    fill: var(--draw-rail);
  }
  .name.chosen circle {
    fill: #24231f;
  }
  .name text {
    fill: #fffdf6;
  }
  .leader {
    stroke: var(--draw-rail);
    stroke-width: 1.25;
  }
  .leader-halo {
    stroke: var(--draw-halo);
    stroke-width: 3.25;
  }
  rect {
    fill: #fffdf6;
    stroke: #24231f;
    stroke-width: 1;
  }
  .label.chosen rect {
    fill: #24231f;
  }
  .label.chosen text {
    fill: #fffdf6;
  }
  text {
    fill: #24231f;
    font: 600 13px var(--text);
    font-variant-numeric: tabular-nums;
  }
`;
