import { parseArgs } from 'node:util';
import { failed, ok, type Result } from '../base/result.js';
import { type Problem, problem } from '../contract/problems.js';

/** The options of one command by name. `one` and `many` take a value, `many` may be given several times; `flag` takes none. */
export type OptionKinds = Readonly<Record<string, 'one' | 'many' | 'flag'>>;

/** A command line taken apart. */
export interface CommandInput {
  readonly files: readonly string[];
  /** The last value given for an option, or undefined. */
  one(name: string): string | undefined;
  /** All values given for an option. */
  many(name: string): readonly string[];
  /** Whether an option without a value was given. */
  flag(name: string): boolean;
}

/**
 * Takes a command line apart; every word that is no option is a file.
 * @returns the parts, or unknown-option or missing-argument
 */
export function readOptions(words: readonly string[], kinds: OptionKinds): Result<CommandInput, Problem> {
  const typeOf = (kind: string) => (kind === 'flag' ? 'boolean' : 'string');
  const options = Object.fromEntries(
    Object.entries(kinds).map(([name, kind]) => [name, { type: typeOf(kind), multiple: true } as const]),
  );
  try {
    const { values, positionals } = parseArgs({ args: [...words], options, allowPositionals: true, strict: true });
    const many = (name: string): string[] => (values[name] as string[] | undefined) ?? [];
    const flag = (name: string): boolean => many(name).length > 0;
    return ok({ files: positionals, many, one: (name) => many(name).at(-1), flag });
  } catch (error) {
    return failed(translate(error, words, kinds));
  }
}

function translate(error: unknown, words: readonly string[], kinds: OptionKinds): Problem {
  const code = (error as { code?: string }).code ?? '';
  const nameOf = (word: string): string => word.replace(/^--/, '').split('=')[0] ?? '';
  const known = (word: string): boolean => Object.keys(kinds).includes(nameOf(word));
  if (code === 'ERR_PARSE_ARGS_UNKNOWN_OPTION') {
    return problem('unknown-option', { option: words.find((w) => w.startsWith('-') && !known(w)) ?? words.join(' ') });
  }
  if (code === 'ERR_PARSE_ARGS_INVALID_OPTION_VALUE') {
    const flag = words.find((w) => w.includes('=') && known(w) && kinds[nameOf(w)] === 'flag');
    if (flag) return problem('bad-field', { field: `--${nameOf(flag)}`, why: 'it takes no value' });
    const bare = words.find((w, i) => w.startsWith('--') && known(w) && !w.includes('=') && !isValue(words[i + 1]));
    return problem('missing-argument', { what: `a value after ${bare ?? 'its last option'}` });
  }
  throw error;
}

function isValue(word: string | undefined): boolean {
  return word !== undefined && !word.startsWith('-');
}

/**
 * Reads a number given for an option.
 * @param range least and greatest value taken
 * @returns the number, `whenMissing` where the option was not given, or the problem bad-field
 */
export function readNumber(
  input: CommandInput,
  option: string,
  whenMissing: number,
  range: readonly [number, number],
): Result<number, Problem> {
  const text = input.one(option);
  if (text === undefined) return ok(whenMissing);
  const value = text.trim() === '' ? Number.NaN : Number(text);
  if (value >= range[0] && value <= range[1]) return ok(value);
  return failed(
    problem('bad-field', { field: `--${option}`, why: `“${text}” is not a number from ${range[0]} to ${range[1]}` }),
  );
}

/** Reads one of a few words given for an option; the first is taken where the option was not given. */
export function readChoice<T extends string>(
  input: CommandInput,
  option: string,
  choices: readonly [T, ...T[]],
): Result<T, Problem> {
  const text = input.one(option);
  if (text === undefined) return ok(choices[0]);
  const choice = choices.find((c) => c === text);
  if (choice !== undefined) return ok(choice);
  return failed(problem('bad-field', { field: `--${option}`, why: `“${text}” is not one of ${choices.join(', ')}` }));
}
