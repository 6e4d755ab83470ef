import { setFlagsFromString } from 'node:v8';
import loadHighs, { type Highs } from 'highs';
import { assert } from '../base/assert.js';

/** A column's number in its model. */
export type Column = number;

/** Coefficient and column. */
export type Term = readonly [number, Column];

/** A sum of columns plus a constant; columns may occur more than once. */
export interface Linear {
  readonly terms: readonly Term[];
  readonly constant: number;
}

export interface Answer {
  readonly status: 'optimal' | 'feasible' | 'infeasible' | 'no-answer';
  readonly values: Float64Array;
  readonly objective: number;
  /** No solution can be better than this; equals the objective where that is proved the best. */
  readonly bound: number;
}

export interface SolveOptions {
  readonly timeLimitMs: number;
  /** Values of a solution that is known already, or of some of its columns; the solver starts from them. */
  readonly start?: Float64Array | ReadonlyMap<Column, number>;
  /** Stop when the best solution is within this of the bound. */
  readonly absoluteGap?: number;
  /** Only these columns need be whole: quicker, and no solution of the whole program is better. */
  readonly wholeOnly?: ReadonlySet<Column>;
}

interface Row {
  readonly lower: number;
  readonly upper: number;
  readonly terms: ReadonlyMap<Column, number>;
}

const noRow: Row = { lower: -Infinity, upper: Infinity, terms: new Map() };

/** A mixed-integer linear program that grows row by row; it is handed to HiGHS as arrays, never as text. */
export class LinearProgram {
  private readonly lower: number[] = [];
  private readonly upper: number[] = [];
  private readonly integer: boolean[] = [];
  private readonly rows: Row[] = [];
  private readonly levels: Row[] = [];

  get columnCount(): number {
    return this.lower.length;
  }

  /** Columns that must be whole and are not narrowed to one value. */
  get wholeCount(): number {
    return this.integer.filter((whole, i) => whole && this.lower[i] < this.upper[i]).length;
  }

  continuous(lower: number, upper: number): Column {
    return this.column(lower, upper, false);
  }

  whole(lower: number, upper: number): Column {
    return this.column(lower, upper, true);
  }

  yesNo(): Column {
    return this.column(0, 1, true);
  }

  private column(lower: number, upper: number, integer: boolean): Column {
    assert(lower <= upper, 'a column needs lower ≤ upper', `${lower}…${upper}`);
    this.lower.push(lower);
    this.upper.push(upper);
    this.integer.push(integer);
    return this.lower.length - 1;
  }

  /** Narrows columns to one value each. @returns what gives them their range back */
  fixFor(values: ReadonlyMap<Column, number>): () => void {
    const before = [...values.keys()].map((c) => [c, this.lower[c], this.upper[c]] as const);
    for (const [column, value] of values) {
      this.lower[column] = value;
      this.upper[column] = value;
    }
    return () => {
      for (const [column, lower, upper] of before) {
        this.lower[column] = lower;
        this.upper[column] = upper;
      }
    };
  }

  /** lower ≤ sum ≤ upper; the sum's constant is taken over. @returns the row's number */
  row(lower: number, sum: Linear, upper: number): number {
    this.rows.push(rowOf(lower, sum, upper));
    return this.rows.length - 1;
  }

  atLeast(sum: Linear, lower: number): number {
    return this.row(lower, sum, Infinity);
  }

  atMost(sum: Linear, upper: number): number {
    return this.row(-Infinity, sum, upper);
  }

  /** Takes a row's force away; the numbers of the others stay. */
  release(row: number): void {
    this.rows[row] = noRow;
  }

  /** Keeps a sum at most so large until the levels are cleared: what an earlier level of an order has reached. */
  keepLevel(sum: Linear, upper: number): void {
    this.levels.push(rowOf(-Infinity, sum, upper));
  }

  clearLevels(): void {
    this.levels.length = 0;
  }

  /** Finds the least value of a sum. Blocks the thread for at most about the time limit. */
  async least(sum: Linear, options: SolveOptions): Promise<Answer> {
    const highs = await solver();
    const constants = highs.constants.modelStatus;
    if (this.lower.length === 0) return { status: 'optimal', values: new Float64Array(0), objective: 0, bound: 0 };
    const model = highs.createModel(this.data(sum, options.wholeOnly));
    try {
      model.options.set({
        output_flag: false,
        time_limit: Math.max(0.01, options.timeLimitMs / 1000),
        mip_abs_gap: options.absoluteGap ?? 1e-6,
        mip_rel_gap: 0,
        mip_feasibility_tolerance: 1e-7,
        // Costs half of the time of small programs and finds nothing that the others do not.
        mip_heuristic_run_feasibility_jump: false,
      });
      if (options.start instanceof Float64Array) model.setSolution({ colValue: options.start });
      else if (options.start) model.setSolution(sparse(options.start));
      model.run();
      const status = model.getModelStatus();
      if (status === constants.infeasible || status === constants.unboundedOrInfeasible) return noAnswer('infeasible');
      const found = Number(model.info.get('primal_solution_status')) === highs.constants.solutionStatus.feasible;
      if (status !== constants.optimal && !(status === constants.timeLimit && found)) return noAnswer('no-answer');
      const values = Float64Array.from(model.getSolution().colValue);
      this.integer.forEach((whole, i) => {
        if (whole && (options.wholeOnly?.has(i) ?? true)) values[i] = Math.round(values[i]);
      });
      const objective = sumAt(sum, values);
      if (status === constants.optimal) return { status: 'optimal', values, objective, bound: objective };
      const bound =
        this.integer.some((whole) => whole) && options.wholeOnly?.size !== 0
          ? Number(model.info.get('mip_dual_bound'))
          : -Infinity;
      return { status: 'feasible', values, objective, bound };
    } finally {
      model.dispose();
    }
  }

  private data(sum: Linear, wholeOnly: ReadonlySet<Column> | undefined) {
    const colCost = new Float64Array(this.lower.length);
    for (const [factor, column] of sum.terms) colCost[column] += factor;
    const starts = [0];
    const indices: number[] = [];
    const values: number[] = [];
    const rows = [...this.rows.filter((row) => row !== noRow), ...this.levels];
    for (const row of rows) {
      for (const [column, factor] of row.terms) {
        indices.push(column);
        values.push(factor);
      }
      starts.push(indices.length);
    }
    return {
      numCols: this.lower.length,
      numRows: rows.length,
      offset: sum.constant,
      colCost,
      colLower: this.lower,
      colUpper: this.upper,
      rowLower: rows.map((r) => r.lower),
      rowUpper: rows.map((r) => r.upper),
      matrix: {
        format: 'csr' as const,
        numRows: rows.length,
        numCols: this.lower.length,
        starts: Int32Array.from(starts),
        indices: Int32Array.from(indices),
        values: Float64Array.from(values),
      },
      integrality: Int32Array.from(this.integer, (whole, i) => (whole && (wholeOnly?.has(i) ?? true) ? 1 : 0)),
    };
  }
}

function rowOf(lower: number, sum: Linear, upper: number): Row {
  const terms = new Map<Column, number>();
  for (const [factor, column] of sum.terms) {
    assert(Number.isFinite(factor), 'a coefficient is a finite number', factor);
    terms.set(column, (terms.get(column) ?? 0) + factor);
  }
  for (const [column, factor] of terms) if (Math.abs(factor) < 1e-9) terms.delete(column);
  return { lower: lower - sum.constant, upper: upper - sum.constant, terms };
}

function noAnswer(status: 'infeasible' | 'no-answer'): Answer {
  return { status, values: new Float64Array(0), objective: Infinity, bound: -Infinity };
}

function sparse(values: ReadonlyMap<Column, number>) {
  return { indices: Int32Array.from(values.keys()), values: Float64Array.from(values.values()) };
}

/** Loads the solver ahead of time, so that a time limit is spent on solving. */
export async function loadSolver(): Promise<void> {
  await solver();
}

let loading: Promise<Highs> | null = null;

/** One solver for the whole thread; it loads in about a tenth of a second. */
function solver(): Promise<Highs> {
  // The package's types see a CommonJS module; Node hands over the loader itself as the default import.
  const load = loadHighs as unknown as typeof loadHighs.default;
  if (loading === null) {
    // Compiling the solver's functions a second time, better, costs more than a plan takes: only what runs for seconds is
    // worth it. Measured with Node 20: a plan of three loops 0.53 instead of 0.76 s of processor time, a second one 0.15
    // instead of 0.44. A V8 that does not know the setting says so and goes on.
    setFlagsFromString('--wasm-tiering-budget=100000000');
    loading = load();
  }
  return loading;
}

/** Value of a sum at a solution. */
export function sumAt(sum: Linear, values: Float64Array): number {
  return sum.terms.reduce((total, [factor, column]) => total + factor * values[column], sum.constant);
}

export const nothing: Linear = { terms: [], constant: 0 };

export function sumOf(...parts: readonly Linear[]): Linear {
  return { terms: parts.flatMap((p) => p.terms), constant: parts.reduce((c, p) => c + p.constant, 0) };
}

/** The same sum with each column once. */
export function merged(sum: Linear): Linear {
  const factors = new Map<Column, number>();
  for (const [factor, column] of sum.terms) factors.set(column, (factors.get(column) ?? 0) + factor);
  return { terms: [...factors].map(([column, factor]) => [factor, column] as const), constant: sum.constant };
}

export function times(factor: number, part: Linear): Linear {
  return { terms: part.terms.map(([f, c]) => [f * factor, c] as const), constant: part.constant * factor };
}

export function term(factor: number, column: Column): Linear {
  return { terms: [[factor, column]], constant: 0 };
}

export function constant(value: number): Linear {
  return { terms: [], constant: value };
}
