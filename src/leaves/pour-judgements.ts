/** The pour watch on the page: one row is weighed at a time, and never twice as long as it and those before it stay as they are. */
import { type Accessor, createEffect, createMemo, createSignal, onCleanup } from "solid-js";
import type { Job } from "../pipeline/job";
import type { PourChances, PourRow, RunKind } from "../pipeline/pour-chances";
import { judgeRows, type RowJudgement, weighRow } from "../pipeline/pour-watch";

export interface TypedRows {
  rows: PourRow[];
  job: Job;
  readingStep: number;
}

type Weighed = PourChances | null;

/** How many rows at the start are as they were when they were weighed. */
export function stillTrue(before: TypedRows | null, now: TypedRows): number {
  if (!before || before.readingStep !== now.readingStep || JSON.stringify(before.job) !== JSON.stringify(now.job))
    return 0;
  let n = 0;
  const same = (a: PourRow | undefined, b: PourRow | undefined) =>
    a !== undefined && b !== undefined && Object.is(a.added_L, b.added_L) && Object.is(a.reading, b.reading);
  while (n < now.rows.length && same(before.rows[n], now.rows[n])) n++;
  return n;
}

/** @param kind poured in or drawn out; a grid is of one. @returns judgement of each row; a row that was not weighed yet says so. */
export function createPourJudgements(typed: Accessor<TypedRows | null>, kind: RunKind): Accessor<RowJudgement[]> {
  const [weighed, setWeighed] = createSignal<{ of: TypedRows; chances: Weighed[] } | null>(null);
  let turn: ReturnType<typeof setTimeout> | undefined;
  createEffect(() => {
    const now = typed();
    clearTimeout(turn);
    if (!now) return;
    let known: Weighed[] = [];
    setWeighed((before) => {
      known = before ? before.chances.slice(0, stillTrue(before.of, now)) : [];
      return { of: now, chances: known };
    });
    // A pasted sheet of fifty rows takes a second: the page answers between two of them.
    const next = () => {
      if (known.length >= now.rows.length) return;
      known = [...known, weighRow(now.rows, known.length, now.job, now.readingStep, kind)];
      setWeighed({ of: now, chances: known });
      turn = setTimeout(next);
    };
    turn = setTimeout(next);
  });
  onCleanup(() => clearTimeout(turn));
  return createMemo(() => {
    const now = typed();
    if (!now) return [];
    const state = weighed();
    const chances = state ? state.chances.slice(0, stillTrue(state.of, now)) : [];
    return judgeRows(now.rows, chances, now.job, now.readingStep, kind);
  });
}
