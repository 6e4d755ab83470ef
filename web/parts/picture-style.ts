import { css } from 'lit';

export const pictureStyle = css`
  :host {
    position: relative;
  }
  .stage {
    background: var(--well);
    border: 2px solid var(--ink);
    cursor: grab;
    max-height: var(--picture-height, min(62vh, 40rem));
    overflow: hidden;
    position: relative;
    touch-action: none;
    width: 100%;
    user-select: none;
  }
  .sheet {
    background: #fffdf6;
  }
  .stage:active {
    cursor: grabbing;
  }
  .aims,
  .aims:active {
    cursor: crosshair;
  }
  .cross {
    display: none;
    height: 3rem;
    left: 50%;
    pointer-events: none;
    position: absolute;
    top: 50%;
    transform: translate(-50%, -50%);
    width: 3rem;
    background:
      linear-gradient(var(--draw-gap), var(--draw-gap)) center / 100% 2px no-repeat,
      linear-gradient(var(--draw-gap), var(--draw-gap)) center / 2px 100% no-repeat;
    border: 2px solid var(--draw-halo);
    border-radius: 50%;
  }
  .stage:focus-visible .cross {
    display: block;
  }
  canvas,
  gw-picture-overlay {
    display: block;
    height: 100%;
    inset: 0;
    position: absolute;
    width: 100%;
  }
  .tools {
    align-items: center;
    display: flex;
    gap: 0.4rem;
    padding-top: 0.4rem;
  }
  slot {
    display: block;
    flex: 1;
    min-width: 0;
  }
  .failed {
    background: var(--sheet);
    left: 0.5rem;
    margin: 0;
    padding: 0.2rem 0.5rem;
    position: absolute;
    top: 0.5rem;
  }
`;
