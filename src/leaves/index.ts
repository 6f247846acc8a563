/** The leaves in reading order, and which stage, words and blocks of the published analysis each stands for. */
import type { JSX } from "solid-js";
import type { StageName } from "../pipeline/index";
import { CircuitLeaf } from "./Circuit";
import { CurveLeaf } from "./Curve";
import { DisplayLeaf } from "./Display";
import { DriveLogLeaf } from "./DriveLog";
import { EndsLeaf } from "./Ends";
import { FillRunLeaf } from "./FillRun";
import { HandOverLeaf } from "./HandOver";
import { JobLeaf } from "./Job";
import { LowFuelLeaf } from "./LowFuel";
import { NoiseLeaf } from "./Noise";
import { RangeLeftLeaf } from "./RangeLeft";
import { SuspectStepsLeaf } from "./SuspectSteps";
import { TableLeaf } from "./Table";
import { TrialLeaf } from "./Trial";
import { VerdictLeaf } from "./Verdict";

export const leaves: {
  name: string;
  title: string;
  stage: StageName;
  component: (props: { number: number }) => JSX.Element;
}[] = [
  { name: "job", title: "job", stage: "job", component: JobLeaf },
  { name: "circuit", title: "circuit", stage: "circuit", component: CircuitLeaf },
  { name: "fill-run", title: "fill run", stage: "fillRun", component: FillRunLeaf },
  { name: "curve", title: "curve", stage: "curve", component: CurveLeaf },
  { name: "suspect-steps", title: "odd steps", stage: "suspectSteps", component: SuspectStepsLeaf },
  { name: "drive-log", title: "drive log", stage: "driveLog", component: DriveLogLeaf },
  { name: "noise", title: "slosh", stage: "noise", component: NoiseLeaf },
  { name: "display", title: "display", stage: "display", component: DisplayLeaf },
  { name: "ends", title: "ends", stage: "ends", component: EndsLeaf },
  { name: "table", title: "table", stage: "table", component: TableLeaf },
  { name: "trial", title: "trial", stage: "trial", component: TrialLeaf },
  { name: "low-fuel", title: "low fuel", stage: "lowFuel", component: LowFuelLeaf },
  { name: "range-left", title: "range left", stage: "range", component: RangeLeftLeaf },
  { name: "verdict", title: "verdict", stage: "verdict", component: VerdictLeaf },
  { name: "hand-over", title: "hand-over", stage: "settings", component: HandOverLeaf },
];
