/** Drawn volumes: a drain is written as what was drawn, as what is left, or with a minus; the steps want what was drawn since the start. */

import type { Issue } from "../answer";
import { say } from "../said";
import { litresBare, litresTo } from "./litres";
import type { Recording } from "./recording";
import { byJob, mendedBy } from "./ways";

export interface DrawnAs {
  /** Litres drawn (with each row, or since the start) for what is written, litres. */
  drawn_L: (written_L: number) => number;
  /** Litres that the first row says are left; null where the column says what was drawn. */
  from_L: number | null;
}

const asWritten: DrawnAs = { drawn_L: (written) => written, from_L: null };

/**
 * How the volumes of a run are to be taken. A fill run's are as written. In a drain totals that fall (a slip apart) are what is left, and amounts
 * of which none is over nothing were written with a minus.
 * @param written_L all volumes of the run in their order, litres; @param cautions gets what was assumed.
 */
export function drawnAs(
  { file, kind }: Pick<Recording, "file" | "kind">,
  enteredAs: "added" | "cumulative",
  written_L: number[],
  cautions: Issue[],
): DrawnAs {
  const falls = written_L.filter((v, i) => i > 0 && v < written_L[i - 1]!).length;
  const rises = written_L.filter((v, i) => i > 0 && v > written_L[i - 1]!).length;
  if (kind !== "drain") return asWritten;
  if (enteredAs === "added")
    return written_L.some((v) => v < 0) && written_L.every((v) => v <= 0)
      ? { drawn_L: (written) => -written, from_L: null }
      : asWritten;
  if (falls <= rises) return asWritten;
  const [from_L] = written_L;
  // From nothing down: a minus before what was drawn, and nothing to doubt.
  if (from_L! > 0)
    cautions.push({
      code: "fill-run/what-is-left",
      says: say`${file}: the volumes go down, from ${litresBare(from_L!, 2)} to ${litresTo(written_L[written_L.length - 1]!, 2)}, and are taken as what was left; drawn is what is missing to the first.`,
      ...mendedBy(
        byJob("say “added with each pour”, under “Read it another way”", "fill.enteredAs=added"),
        (way) => `Nothing needs to be done if that is so; if each row is one draw, say so ${way}.`,
      ),
      weight: "holds-if",
      condition: "the volumes of the drain are what was left",
    });
  return { drawn_L: (written) => from_L! - written, from_L: from_L! };
}
