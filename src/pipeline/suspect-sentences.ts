/** What is told of one odd step, for its caution: the finding first, then why. */
import { capital, fixed } from "../format";
import type { Quantity } from "../quantity";
import { type Said, say } from "../said";
import type { FillRun } from "./fill-run";
import { litresTo } from "./litres";
import { amountWord, countsDown, laterSteps } from "./sheet-words";
import type { FaultKind } from "./suspect-steps";

/** @param side where the later steps sit. @param last the step is the last of its run. @param usual_L amount with which it fits, like the others; null for none. */
export function sentenceOf(
  run: FillRun,
  kind: FaultKind,
  step: number,
  amount: Quantity,
  side: string,
  between_L: number,
  last: boolean,
  sure: "probably" | "perhaps",
  usual_L: number | null,
): Said {
  const word = amountWord(run);
  const name = `${capital(word)} ${step}`;
  switch (kind) {
    case "missed-pour":
      return say`${name} is ${sure} missing from the sheet: ${laterSteps(run)} sits ${amount} ${side}.`;
    case "wrong-pour":
      return say`${name} is ${sure} not as written: ${laterSteps(run)} sits ${amount} ${side}${usual_L === null ? "" : say`; taken as ${litresTo(usual_L, 2)}, like the others, it fits`}.`;
    case "hung-float":
      return say`The float ${sure} hung at step ${step}: the reading repeated while ${litresTo(between_L, 1)} ${word === "draw" ? "were drawn" : "went in"}.`;
    case "wrong-reading":
      return say`The reading of step ${step} is ${sure} wrong: it alone lies ${amount} off the curve, the steps around it do not.`;
    case "cannot-be-told":
      return last
        ? say`Step ${step} lies ${amount} off, and at the ${run.direction === "drain" && !countsDown(run) ? "full " : ""}end of a run a wrong ${word} and a wrong reading look the same: it cannot be told which.`
        : run.direction === "drain" && !countsDown(run)
          ? say`The empty end lies ${amount} off the rest, and a wrong last reading and a wrong last draw look the same: it cannot be told which.`
          : say`The start lies ${amount} off the rest, and a wrong first reading and a wrong first ${word} look the same: it cannot be told which.`;
  }
}

/** A pour that a second room took: no reading shows its amount, so none is told; the sheet or the stated capacity speaks for it. */
export const unseenPour = (kind: FaultKind, step: number, added_L: number, odd: boolean, sure: string): Said =>
  say`Pour ${step} is ${sure} ${kind === "missed-pour" ? "missing from the sheet" : "not as written"}: ${
    odd ? say`${litresTo(added_L, 1)} is unlike the other pours` : "the pours then come closer to the stated capacity"
  }. A second room seems to fill there, so the readings cannot say.`;

export const leftOpen = (chance: number) =>
  ` The chance is ${fixed(100 * chance, 0)} %, so more likely nothing is wrong there: it is left as written until you have looked.`;
