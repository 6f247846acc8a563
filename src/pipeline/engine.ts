/**
 * Engine: runs a declared pipeline and recomputes only what depends on a change.
 *
 * A node's answer is kept until one of its inputs is another object than before; inputs are compared by identity, so
 * an edit that leaves an object alone recomputes nothing. The engine knows nothing of fuel, of clocks or of pages.
 */
import { type Answer, type Issue, ready } from "../answer";

/** Something that a stage reads: `read` gives its present answer. */
export interface Input<T> {
  readonly name: string;
  /** Names of everything that this one depends on, itself included: what becomes stale with it. */
  readonly upstream: ReadonlySet<string>;
  read(): Answer<T>;
}

export interface Stage<T> extends Input<T> {
  /** How often the stage's function has run: tests count it. */
  runs(): number;
}

type Values<I extends readonly Input<unknown>[]> = { [K in keyof I]: I[K] extends Input<infer T> ? T : never };

export interface Engine<Sources> {
  /** Hands on the stored object itself. */
  source<T>(name: string, pick: (sources: Sources) => T): Input<T>;
  stage<const I extends readonly Input<unknown>[], T>(
    name: string,
    inputs: I,
    compute: (...values: Values<I>) => Answer<T>,
  ): Stage<T>;
  set(sources: Sources): void;
}

export function createEngine<Sources>(first: Sources): Engine<Sources> {
  let sources = first;
  const source: Engine<Sources>["source"] = (name, pick) => {
    let kept: { value: unknown; answer: Answer<never> } | null = null;
    return {
      name,
      upstream: new Set([name]),
      read() {
        const value = pick(sources);
        if (!kept || kept.value !== value) kept = { value, answer: ready(value as never) };
        return kept.answer;
      },
    };
  };
  const stage = ((name: string, inputs: readonly Input<unknown>[], compute: (...values: never[]) => Answer<never>) => {
    let kept: { answers: Answer<unknown>[]; answer: Answer<never> } | null = null;
    let runs = 0;
    return {
      name,
      upstream: new Set([name, ...inputs.flatMap((i) => [...i.upstream])]),
      runs: () => runs,
      read() {
        const answers = inputs.map((i) => i.read());
        if (kept && answers.every((a, i) => a === kept!.answers[i])) return kept.answer;
        const blocked = answers.find((a) => a.state !== "ready");
        let answer: Answer<never>;
        if (blocked) answer = blocked as Answer<never>;
        else {
          runs += 1;
          answer = guarded(name, () => compute(...(answers.map((a) => (a as { value: unknown }).value) as never[])));
        }
        kept = { answers, answer };
        return answer;
      },
    };
  }) as Engine<Sources>["stage"];
  return { source, stage, set: (next) => (sources = next) };
}

/** Reads an input as a value or null: for stages that can do part of their work without it. */
export function maybe<T>(input: Input<T>): Input<T | null> {
  let kept: { from: Answer<T>; answer: Answer<T | null> } | null = null;
  return {
    name: input.name,
    upstream: input.upstream,
    read() {
      const from = input.read();
      if (!kept || kept.from !== from) {
        // Two different reasons for "not there" are the same to the stage that goes on without it.
        const answer: Answer<T | null> = from.state === "ready" ? from : absent;
        kept = { from, answer };
      }
      return kept.answer;
    },
  };
}
const absent: Answer<null> = ready(null);

/**
 * As much of an input as a stage looks at. Where that says the same as before it is the object from before, so that a change of anything
 * else recomputes nothing: a slow stage that reads one word of the job does not start again for another word.
 * @param pick plain data, and little of it but for columns of numbers: it is compared part by part.
 */
export function part<T, P>(input: Input<T>, pick: (value: T) => P): Input<P> {
  let from: Answer<T> | null = null;
  let kept: Answer<P> | null = null;
  return {
    name: input.name,
    upstream: input.upstream,
    read() {
      const now = input.read();
      if (kept && from === now) return kept;
      from = now;
      if (now.state !== "ready") kept = now;
      else {
        const picked = pick(now.value);
        if (!(kept?.state === "ready" && isSame(kept.value, picked))) kept = ready(picked);
      }
      return kept;
    },
  };
}

/** Equal plain data: numbers as `Object.is` sees them, arrays, columns and objects part by part. */
function isSame(a: unknown, b: unknown): boolean {
  if (Object.is(a, b)) return true;
  if (typeof a !== "object" || typeof b !== "object" || a === null || b === null) return false;
  if (Array.isArray(a) !== Array.isArray(b)) return false;
  if (ArrayBuffer.isView(a) || ArrayBuffer.isView(b))
    return isSameColumn(a as ArrayLike<number>, b as ArrayLike<number>);
  const keys = Object.keys(a);
  return (
    keys.length === Object.keys(b).length &&
    keys.every(
      (k) => Object.hasOwn(b, k) && isSame((a as Record<string, unknown>)[k], (b as Record<string, unknown>)[k]),
    )
  );
}

/** Columns of one kind and length that hold the same numbers; a blank (NaN) is like another. */
function isSameColumn(a: ArrayLike<number>, b: ArrayLike<number>): boolean {
  if (a.constructor !== b.constructor || a.length !== b.length) return false;
  for (let i = 0; i < a.length; i++) {
    const [x, y] = [a[i]!, b[i]!];
    if (x !== y && !(Number.isNaN(x) && Number.isNaN(y))) return false;
  }
  return true;
}

/** A fault of our own must not take the notebook down: it becomes an issue that says where it happened. */
function guarded<T>(name: string, compute: () => Answer<T>): Answer<T> {
  try {
    return compute();
  } catch (error) {
    const issue: Issue = {
      code: `${name}/internal`,
      says: `A computation (${name}) failed on your data: ${error instanceof Error ? error.message : String(error)}.`,
      remedy: "Your data are kept. Take back the last change, or save the notebook and report the message.",
    };
    return { state: "stuck", issue };
  }
}
