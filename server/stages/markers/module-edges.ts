import { CODE_SIDE } from './tag-family.js';

/** A straight edge, one module long, between a black and a white module of a tag. */
export interface ModuleEdge {
  /** The edge runs along b at a constant a ('a'), or along a at a constant b ('b'). */
  readonly across: 'a' | 'b';
  /** Where it lies and where its middle is, in the tag's coordinates −1…1. */
  readonly a: number;
  readonly b: number;
  /** +1 when the dark side has the greater coordinate, −1 otherwise. */
  readonly darkSide: 1 | -1;
  /**
   * White (1) and black (0) of the modules around, 4 across the edge by 3 along it: entry 3·j + k is the module j − 2
   * modules beyond the edge (j = 1, 2 are its own two sides) and k − 1 modules along it.
   */
  readonly around: Uint8Array;
  /** On the rim of the black square. */
  readonly outer: boolean;
}

/** Every black–white module edge of a tag, its rim included. */
export function moduleEdges(grid: ArrayLike<number>, borderModules: 1 | 2): ModuleEdge[] {
  const modules = CODE_SIDE + 2 * borderModules;
  const unit = 2 / modules;
  /** Beyond the rim lies white paper. */
  const white = (row: number, column: number): 0 | 1 => {
    if (row < 0 || column < 0 || row >= modules || column >= modules) return 1;
    const [r, c] = [row - borderModules, column - borderModules];
    return r < 0 || c < 0 || r >= CODE_SIDE || c >= CODE_SIDE || !grid[r * CODE_SIDE + c] ? 0 : 1;
  };
  const edges: ModuleEdge[] = [];
  for (const across of ['a', 'b'] as const) {
    for (let line = 0; line <= modules; line++) {
      for (let cell = 0; cell < modules; cell++) {
        const at = (j: number, k: number) =>
          across === 'a' ? white(cell + k - 1, line + j - 2) : white(line + j - 2, cell + k - 1);
        if (at(1, 1) === at(2, 1)) continue;
        const [along, place] = [(cell + 0.5) * unit - 1, line * unit - 1];
        edges.push({
          across,
          a: across === 'a' ? place : along,
          b: across === 'a' ? along : place,
          darkSide: at(2, 1) === 0 ? 1 : -1,
          around: Uint8Array.from({ length: 12 }, (_, i) => at(Math.floor(i / 3), i % 3)),
          outer: line === 0 || line === modules,
        });
      }
    }
  }
  return edges;
}
