/** The leaves in reading order, and which stage, words and blocks of the published analysis each stands for. */
import type { JSX } from "solid-js";
import type { StageName } from "../pipeline/index";
import { type LeafName, leafTitles } from "../pipeline/words/all";
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

interface LeafEntry {
  name: string;
  title: string;
  stage: StageName;
  component: (props: { number: number }) => JSX.Element;
}
const leaf = (name: LeafName, stage: StageName, component: LeafEntry["component"]): LeafEntry => ({
  name,
  title: leafTitles[name],
  stage,
  component,
});

export const leaves: LeafEntry[] = [
  leaf("job", "job", JobLeaf),
  leaf("circuit", "circuit", CircuitLeaf),
  leaf("fill-run", "fillRun", FillRunLeaf),
  leaf("curve", "curve", CurveLeaf),
  leaf("suspect-steps", "suspectSteps", SuspectStepsLeaf),
  leaf("drive-log", "driveLog", DriveLogLeaf),
  leaf("noise", "noise", NoiseLeaf),
  leaf("display", "display", DisplayLeaf),
  leaf("ends", "ends", EndsLeaf),
  leaf("table", "table", TableLeaf),
  leaf("trial", "trial", TrialLeaf),
  leaf("low-fuel", "lowFuel", LowFuelLeaf),
  leaf("range-left", "range", RangeLeftLeaf),
  leaf("verdict", "verdict", VerdictLeaf),
  leaf("hand-over", "settings", HandOverLeaf),
];
