import { css, svg } from 'lit';

/**
 * Tints of how sure the picture is, best first: blue to orange, which every kind of colour sight tells apart (Okabe and
 * Ito, Color Universal Design, 2008). The worst is hatched as well, and what was not seen is hatched alone.
 */
export const tintStyle = css`
  .tint {
    fill-opacity: 0.6;
    stroke: none;
  }
  /* Hatching is as wide as its pattern says, whatever strokes of the drawing do. */
  pattern path {
    vector-effect: none;
  }
  .under-worst {
    fill: #d55e00;
    stroke: none;
  }
  .under-unseen {
    fill: #8a8a8a;
    stroke: none;
  }
  .tint-0 {
    fill: #0072b2;
  }
  .tint-1 {
    fill: #56b4e9;
  }
  .tint-2 {
    fill: #f0e442;
  }
  .tint-3,
  .tint-4 {
    fill-opacity: 0.75;
  }
`;

const colours = ['#0072b2', '#56b4e9', '#f0e442', 'url(#hatched-worst)', 'url(#hatched-unseen)'];

/** The fill of a tint: a colour, or a pattern of `tintPatterns` in the same drawing. */
export function tintFill(tint: number): string {
  return colours[tint] ?? 'none';
}

/** The patterns of the two last tints. @param perPx drawing units of a screen pixel, so that hatching stays as wide */
export function tintPatterns(perPx: number) {
  const size = 8 * perPx;
  const line = `M0 ${size}L${size} 0M${-size / 4} ${size / 4}L${size / 4} ${-size / 4}M${(3 * size) / 4} ${(5 * size) / 4}L${(5 * size) / 4} ${(3 * size) / 4}`;
  const back = `M0 0L${size} ${size}M${-size / 4} ${(3 * size) / 4}L${size / 4} ${(5 * size) / 4}M${(3 * size) / 4} ${-size / 4}L${(5 * size) / 4} ${size / 4}`;
  return svg`<defs>
    <pattern id="hatched-worst" patternUnits="userSpaceOnUse" width=${size} height=${size}>
      <rect class="under-worst" width=${size} height=${size} />
      <path d=${line} fill="none" stroke="#5a2200" stroke-width=${1.2 * perPx} />
    </pattern>
    <pattern id="hatched-unseen" patternUnits="userSpaceOnUse" width=${size} height=${size}>
      <rect class="under-unseen" width=${size} height=${size} />
      <path d=${line + back} fill="none" stroke="#222222" stroke-width=${perPx} />
    </pattern>
  </defs>`;
}
