/** Verdict: is it good enough, and how sure are we? Largest service-day error at rest between the ends, from joint draws (JCGM 106:2012). */
import type { Answer } from "../answer";
import type { Curve } from "./curve";
import type { Ends } from "./ends";
import type { Job } from "./job";
import type { SuspectSteps } from "./suspect-steps";
import type { Table } from "./table";
import type { Trial } from "./trial";

export interface Verdict {
  decision: "conforms" | "does-not-conform" | "cannot-be-said";
  /** Probability that the largest error is inside the tolerance. */
  probability: number;
  probabilityLow: number;
  probabilityHigh: number;
  tolerance_L: number;
  /** Median and 95 % upper limit of the largest error, litres. */
  largest_L: number;
  largestUpper_L: number;
  guard: number;
  onTheRoadRms_L: number | null;
  draws: number;
  decisionsNotConfirmed: number;
}

export function judge(
  _curve: Curve,
  _suspects: SuspectSteps,
  _table: Table,
  _ends: Ends,
  _trial: Trial | null,
  _job: Job,
  _seed: number,
): Answer<Verdict> {
  throw new Error("not written yet");
}
