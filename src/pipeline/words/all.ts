/** The findings of all leaves at once, for head, contents, report and command line. */

import { type Answer, type Trust, trustOf } from "../../answer";
import type { Said } from "../../said";
import type { Answers, StageName } from "../index";
import type { Job } from "../job";
import { readingUnitIn } from "../reading-unit";
import { circuitFinding } from "./circuit";
import { curveFinding } from "./curve";
import { displayFinding } from "./display";
import { driveLogFinding } from "./drive-log";
import { endsFinding } from "./ends";
import { fillRunFinding } from "./fill-run";
import type { Finding, Phrase } from "./finding";
import { jobFinding } from "./job";
import { lowFuelFinding } from "./low-fuel";
import { noiseFinding } from "./noise";
import { rangeLeftFinding } from "./range-left";
import { settingsFinding } from "./settings";
import { severalRunsPhrases } from "./several-runs";
import { suspectStepsFinding } from "./suspect-steps";
import { tableFinding } from "./table";
import { trialFinding } from "./trial";
import { verdictFinding } from "./verdict";
import { findingInUnit, volumeWordsOf } from "./volume";

/** The leaves in reading order, and the word for each. */
export const leafTitles = {
  job: "job",
  circuit: "circuit",
  "fill-run": "fill run",
  curve: "curve",
  "suspect-steps": "odd steps",
  "drive-log": "drive log",
  noise: "slosh",
  display: "display",
  ends: "ends",
  table: "table",
  trial: "trial",
  "low-fuel": "low fuel",
  "range-left": "range left",
  verdict: "verdict",
  "hand-over": "hand-over",
} as const;
export type LeafName = keyof typeof leafTitles;

export interface LeafWords {
  name: string;
  title: string;
  stage: StageName;
  answer: Answer<unknown>;
  finding: Finding | null;
}

/** @param answers of all stages; a leaf whose stage is not ready has no finding. */
export function allFindings(answers: Answers): LeafWords[] {
  const job = ready(answers.job);
  const suspects = ready(answers.suspectSteps);
  const unit = readingUnitIn(answers);
  const volume = volumeWordsOf(job);
  const inUnit = (finding: Finding | null) => finding && findingInUnit(finding, volume);
  const one = <T>(
    name: LeafName,
    stage: StageName,
    answer: Answer<T>,
    words: (value: T) => Finding | null,
  ): LeafWords => ({
    name,
    title: leafTitles[name],
    stage,
    answer,
    finding: answer.state === "ready" ? inUnit(words(answer.value)) : null,
  });
  return [
    one("job", "job", answers.job, jobFinding),
    one("circuit", "circuit", answers.circuit, circuitFinding),
    one("fill-run", "fillRun", withReading(answers.fillRun, answers.fills, answers.severalRuns), (f) =>
      withRuns(fillRunFinding(f, suspects), severalRunsPhrases(ready(answers.severalRuns))),
    ),
    one("curve", "curve", answers.curve, (c) => curveFinding(c, ...spanOf(c))),
    one("suspect-steps", "suspectSteps", answers.suspectSteps, suspectStepsFinding),
    one("drive-log", "driveLog", withReading(answers.driveLog, answers.drives), (logs) =>
      driveLogFinding(logs, isFound(answers.curve)),
    ),
    one("noise", "noise", answers.noise, noiseFinding),
    one("display", "display", answers.display, (d) => (job ? displayFinding(d, job) : null)),
    one("ends", "ends", answers.ends, (e) => (job ? endsFinding(e, unit, job) : null)),
    one("table", "table", answers.table, tableFinding),
    one("trial", "trial", answers.trial, (t) => (job ? trialFinding(t, job, ready(answers.complaint)) : null)),
    one("low-fuel", "lowFuel", answers.lowFuel, (l) => lowFuelFinding(l, job)),
    one("range-left", "range", answers.range, rangeLeftFinding),
    one("verdict", "verdict", answers.verdict, (v) => verdictFinding(v, job?.targets.tolerance_L === null)),
    one("hand-over", "settings", answers.settings, (s) => settingsFinding(s, suspects?.notConfirmed ?? 0)),
  ];
}

/** What several runs say together stands under what one of them says. */
export const withRuns = (finding: Finding, more: Phrase[]): Finding => ({
  ...finding,
  further: [...(finding.further ?? []), ...more],
});

/** What was odd about the files themselves, and about several of them together, stands on the leaf that shows what they hold: nobody else tells it. */
export function withReading<T>(answer: Answer<T>, ...read: Answer<unknown>[]): Answer<T> {
  const theirs = read.flatMap((r) => (r.state === "ready" ? r.cautions : []));
  return answer.state === "ready" && theirs.length > 0
    ? { ...answer, cautions: [...theirs, ...answer.cautions] }
    : answer;
}

/** Whether the litres of a drive are those of the table found in the device, there being no curve. */
export const isFound = (curve: Answer<unknown>): boolean => curve.state === "stuck";

const ready = <T>(a: Answer<T>): T | null => (a.state === "ready" ? a.value : null);

/** Lowest and highest volume of the accepted steps. */
export function spanOf(curve: { points: { volume_L: number }[] }): [number, number] {
  const v = curve.points.map((p) => p.volume_L);
  return [Math.min(...v), Math.max(...v)];
}

export const textOf = (phrases: Phrase[]): string => phrases.map((p) => (typeof p === "string" ? p : p.text)).join("");

/** Leaves whose litres come from the curve: they stand on whatever the curve stands on. */
const onCurve = new Set([
  "drive-log",
  "noise",
  "display",
  "ends",
  "table",
  "trial",
  "low-fuel",
  "range-left",
  "verdict",
  "hand-over",
]);

/**
 * The leaf that a stuck leaf waits for: its own stage has nothing to ask for, it only hands on what another one wants.
 * @returns its name, word and number; null for a leaf that has an answer, or whose own want it is.
 */
export function waitsFor(
  name: string,
  answer: Answer<unknown>,
): { name: LeafName; title: string; number: number } | null {
  const code = answer.state === "stuck" ? answer.issue.code.split("/")[0] : name;
  // Litres of a drive need a fill run or the table found in the device: the drive log's leaf asks for either.
  const want = code === "as-found" ? "drive-log" : code;
  const names = Object.keys(leafTitles) as LeafName[];
  const at = want === name ? -1 : names.indexOf(want as LeafName);
  return at < 0 ? null : { name: names[at]!, title: leafTitles[names[at]!], number: at + 1 };
}

/** Whether all that the job's line says was assumed: neither what the tank holds nor how good the gauge must be is stated. */
const saysNothing = (name: string, answer: Answer<unknown>): boolean => {
  if (name !== "job" || answer.state !== "ready") return false;
  const { tank, targets } = answer.value as Job;
  return tank.capacity_L === null && targets.tolerance_L === null;
};

/** How far a leaf can be trusted, as a word under its number. */
const trustWords = { holds: "holds", "holds-if": "holds if", doubtful: "doubtful", stuck: "stuck" } as const;

/** How far a leaf can be trusted: its own answer, and the condition that the curve under it is on trial with. */
export function leafTrust(
  name: string,
  answer: Answer<unknown>,
  curve: Answer<unknown>,
): { trust: Trust; condition: Said | null; word: string } {
  const own = trustOf(answer);
  // What nobody stated holds for no tank in particular: it has the rule of what stands on a condition.
  if (own.trust === "holds" && saysNothing(name, answer)) return { ...own, trust: "holds-if", word: "assumed" };
  const under = onCurve.has(name) && curve.state === "ready" ? trustOf(curve) : null;
  const whole: { trust: Trust; condition: Said | null } =
    own.trust === "holds" && under && under.trust !== "holds"
      ? { trust: "holds-if", condition: under.condition ?? "the curve does" }
      : own;
  return { ...whole, word: trustWords[whole.trust] };
}
