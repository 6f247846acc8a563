/**
 * What a stage hands back: a value that is ready, or the issue it is stuck on, or a wait for a slow stage.
 * The state of the data is an answer; a caller's mistake throws.
 */
import type { Said } from "./said";

/** Where in the user's own material an issue lies: the line as a text editor counts it, from 1. */
export interface Place {
  file?: string;
  row?: number;
  column?: string;
  /** The raw line or cell, as it stands in the file. */
  text?: string;
  step?: number;
}

/**
 * Something the user should know.
 * `weight` says how far the stage's answer can still be trusted: a `note` leaves it firm, `holds-if` makes it
 * conditional on `condition` ("pour 6 was made"), `doubtful` means that it may be wrong.
 */
export interface Issue {
  /** stage/what, e.g. `curve/too-few-steps`. */
  code: string;
  /** What was found and what is needed, in the user's words. */
  says: Said;
  /** What would mend it, in the words of the page. */
  remedy?: Said;
  /** The same on the command line, where it is done in another way there. */
  remedyOnCommandLine?: Said;
  where?: Place;
  weight?: "note" | "holds-if" | "doubtful";
  condition?: Said;
}

export type Answer<T> =
  | { state: "ready"; value: T; cautions: Issue[] }
  | { state: "stuck"; issue: Issue }
  | { state: "waiting" };

export const ready = <T>(value: T, cautions: Issue[] = []): Answer<T> => ({ state: "ready", value, cautions });
export const stuck = <T = never>(issue: Issue): Answer<T> => ({ state: "stuck", issue });
export const waiting: Answer<never> = { state: "waiting" };

/** Goes on with a ready value; a stuck or waiting answer is handed on as it is. Cautions are kept, first ones first. */
export function whenReady<T, U>(answer: Answer<T>, next: (value: T) => Answer<U>): Answer<U> {
  if (answer.state !== "ready") return answer;
  const after = next(answer.value);
  return after.state === "ready" ? { ...after, cautions: [...answer.cautions, ...after.cautions] } : after;
}

/** The value of a ready answer, else null. */
export const valueIn = <T>(answer: Answer<T>): T | null => (answer.state === "ready" ? answer.value : null);

/** How far an answer can be trusted, for the rule beside the finding. */
export type Trust = "holds" | "holds-if" | "doubtful" | "stuck";

export function trustOf(answer: Answer<unknown>): { trust: Trust; condition: Said | null } {
  if (answer.state !== "ready") return { trust: "stuck", condition: null };
  if (answer.cautions.some((c) => c.weight === "doubtful")) return { trust: "doubtful", condition: null };
  const conditional = answer.cautions.find((c) => c.weight === "holds-if");
  return conditional
    ? { trust: "holds-if", condition: conditional.condition ?? null }
    : { trust: "holds", condition: null };
}

/** All values together, or the first issue among them; cautions of all are kept. */
export function all<T>(answers: Answer<T>[]): Answer<T[]> {
  const blocked = answers.find((a) => a.state !== "ready");
  if (blocked) return blocked as Answer<never>;
  const done = answers as Extract<Answer<T>, { state: "ready" }>[];
  return ready(
    done.map((a) => a.value),
    done.flatMap((a) => a.cautions),
  );
}
