/**
 * Analysis: all answers as the published JSON. The page shows these very numbers, each with its path in here; what could not be
 * computed stands under `notComputed` with its reason.
 */

import type { Answer, Issue } from "../answer";
import { isProse, published } from "../said";
import type { Answers } from "./index";
import { unusableOffset_L } from "./job";
import { readingUnitIn } from "./reading-unit";
import type { SourceFile } from "./recording";
import { secondRoomOf } from "./second-room";

export const analysisFormat = "fillbook-analysis";
export const analysisVersion = 1;

type Json = null | boolean | number | string | Json[] | { [key: string]: Json };
export type Analysis = { [key: string]: Json };

/** Fields that hold a reading: their names get the reading's own unit; volts are never invented. */
const readingFields = new Set([
  "reading",
  "standardError",
  "readingStep",
  "repeatability",
  "betweenRuns",
  "totalSd",
  "sloshSd",
  "floorSd",
  "spikesSd",
  "sd",
  "filteredSd",
  "bandAt",
  "twoPointAt",
  "apartAt",
  "errorAt",
  "readingShift",
  "readingShiftStandard",
  "rowReading",
  "endReading",
  "endReadingStandard",
  "foundMargin",
  "neededMargin",
  "faultLow",
  "faultHigh",
  "amountReading",
  "emptyReading",
  "fullReading",
  "emptyMargin",
  "fullMargin",
  "margin",
  "recommendedMargin",
  "lower",
  "upper",
]);

/** Plain JSON of any stage value: typed arrays become lists, what is not finite becomes null, heavy columns are left out. */
function plain(value: unknown, unit: string, suffix = true): Json {
  if (value === null || value === undefined) return null;
  if (typeof value === "number") return Number.isFinite(value) ? value : null;
  if (typeof value === "boolean" || typeof value === "string") return value;
  if (ArrayBuffer.isView(value)) return Array.from(value as Float64Array, (v) => (Number.isFinite(v) ? v : null));
  if (Array.isArray(value)) return value.map((v) => plain(v, unit, suffix));
  if (isProse(value)) return published(value);
  const out: { [key: string]: Json } = {};
  for (const [key, v] of Object.entries(value as Record<string, unknown>)) {
    if (key === "columns") continue;
    const name = suffix && readingFields.has(key) && (typeof v === "number" || v === null) ? `${key}_${unit}` : key;
    out[name] = plain(v, unit, suffix);
  }
  return out;
}

const leave = <T extends object, K extends keyof T>(value: T, ...keys: K[]): Omit<T, K> =>
  Object.fromEntries(Object.entries(value).filter(([k]) => !keys.includes(k as K))) as Omit<T, K>;

/** @param files as given, for the hashes; @param answers of all stages. */
export function analysisOf(answers: Answers, files: SourceFile[], choicesSeed = 1): Analysis {
  const unit = readingUnitIn(answers);
  const notComputed: { what: string; why: string; remedy: string | null; remedyOnCommandLine: string | null }[] = [];
  /** One stage's blocks; where it is not ready each of them is named with the reason. */
  const take = <T>(whats: string, answer: Answer<T>, build: (value: T) => Analysis): Analysis => {
    if (answer.state === "ready") return build(answer.value);
    const why = answer.state === "stuck" ? published(answer.issue.says) : "still being computed";
    const mends: Partial<Issue> = answer.state === "stuck" ? answer.issue : {};
    const remedy = mends.remedy === undefined ? null : published(mends.remedy);
    const remedyOnCommandLine = mends.remedyOnCommandLine === undefined ? remedy : published(mends.remedyOnCommandLine);
    for (const what of whats.split(" ")) notComputed.push({ what, why, remedy, remedyOnCommandLine });
    return {};
  };
  const p = (value: unknown) => plain(value, unit);
  const rows = new Map<string, number>();
  for (const a of [answers.fills, answers.drives])
    if (a.state === "ready") for (const r of a.value) rows.set(r.sha256, r.rows);
  const job = answers.job.state === "ready" ? answers.job.value : null;
  const suspects = answers.suspectSteps.state === "ready" ? answers.suspectSteps.value : null;
  return {
    format: analysisFormat,
    version: analysisVersion,
    inputs: files.map((f) => ({ file: f.name, sha256: f.sha256, rows: rows.get(f.sha256) ?? 0 })),
    seed: choicesSeed,
    readingUnit: unit,
    unusableOffset_L: job ? unusableOffset_L(job).offset_L : 0,
    decisionsNotConfirmed: suspects?.notConfirmed ?? 0,
    ...take("job", answers.job, (j) => ({
      job: { ...(plain(leave(j, "assumed"), unit, false) as Analysis) },
      assumed: plain(j.assumed, unit, false),
    })),
    ...take("circuit", answers.circuit, (c) => ({ circuit: p(c) })),
    ...take("fillRuns sender", answers.fillRun, (f) => ({
      fillRuns: f.runs.map((run, r) => {
        const s = suspects?.runs[r];
        return {
          ...(p(leave(run, "trace", "steps")) as Analysis),
          steps: p(
            (s?.steps ?? run.steps).map((step) => ({
              flag: null,
              reason: null,
              accepted: true,
              decidedBy: null,
              ...step,
            })),
          ),
          events: p(s?.events ?? []),
          oddEnds: p(s?.oddEnds ?? []),
          smallestDetectable_L: p(s?.smallestDetectable_L ?? []),
          smallestReading_L: p(s?.smallestReading_L ?? []),
          secondRoom: p(s ? secondRoomOf(s) : null),
        };
      }),
      sender: p(leave(f, "runs")),
    })),
    // Absent without a word for a single run: there is nothing to compute.
    ...(answers.severalRuns.state === "ready" && answers.severalRuns.value
      ? { fillRunsTogether: p(answers.severalRuns.value) }
      : {}),
    ...take("curves chosenCurve residuals band serviceBand", answers.curve, (c) => ({
      curves: p(c.candidates.map((f) => leave(f, "points"))),
      chosenCurve: {
        kind: c.chosen.kind,
        why: c.chosen.why,
        shape: c.shape,
        knots: p(c.chosen.knots),
        points: p(c.points),
        overall: p(c.overall),
        oneReading: p(c.oneReading),
        budget: p(c.budget),
        possibilities: p(c.serviceStates.map((s) => s.chance)),
        recommended: p(c.recommended),
        robustLine: p(c.robust),
        asWritten: p(c.asWritten),
      },
      residuals: { tests: p(c.tests) },
      band: p(
        c.grid.map((g) => ({ reading: g.reading, volume_L: g.volume_L, lower_L: g.lower_L, upper_L: g.upper_L })),
      ),
      serviceBand: p(
        c.grid.map((g) => ({
          reading: g.reading,
          volume_L: g.serviceVolume_L,
          lower_L: g.serviceLower_L,
          upper_L: g.serviceUpper_L,
        })),
      ),
    })),
    ...take("driveLogs", answers.driveLog, (logs) => ({ driveLogs: p(logs.map((l) => leave(l, "columns", "trace"))) })),
    ...take("noise", answers.noise, (n) => ({ noise: p(leave(n, "spectrum")) })),
    ...take("display", answers.display, (d) => ({ display: p(d) })),
    ...take("ends", answers.ends, (e) => ({
      ends: p({
        emptyReading: e.empty.reading,
        fullReading: e.full.reading,
        emptyMargin: e.empty.margin,
        fullMargin: e.full.margin,
        emptyHidden_L: e.empty.hidden_L,
        fullHidden_L: e.full.hidden_L,
        emptyFlickersPerHour: e.empty.flickersPerHour,
        fullFlickersPerHour: e.full.flickersPerHour,
        evidence: e.empty.evidence === "drive-log" && e.full.evidence === "drive-log" ? "drive-log" : "fill-run",
        filteredSd: e.filteredSd,
        tooShort: e.tooShort,
        empty: e.empty,
        full: e.full,
      }),
    })),
    ...take("table tableError_L twoPointError_L", answers.table, (t) => ({
      table: p(t.rows),
      tableError_L: t.error_L,
      tableRms_L: t.rms_L,
      twoPointError_L: t.twoPoint.error_L,
      tableDetail: p(leave(t, "rows")),
    })),
    ...take("trial", answers.trial, (t) => ({ trial: p(leave(t, "window", "smoothedSd_L")) })),
    // Absent without a word where no settings were found in a device: there is nothing to explain.
    ...(answers.complaint.state === "ready" && answers.complaint.value
      ? { complaint: p(answers.complaint.value) }
      : {}),
    ...take("lowFuel", answers.lowFuel, (l) => ({ lowFuel: p(l) })),
    ...take("rangeLeft", answers.range, (r) => ({ rangeLeft: plain(r, unit, false) })),
    ...take("settings", answers.settings, (s) => ({ settings: plain(leave(s, "lines"), unit, false) as Analysis })),
    ...take("verdict", answers.verdict, (v) => ({ verdict: p(v) })),
    cautions: cautionsOf(answers).map(({ stage, issue }) => ({
      stage,
      code: issue.code,
      says: published(issue.says),
      remedy: p(issue.remedy),
      remedyOnCommandLine: p(issue.remedyOnCommandLine ?? issue.remedy),
      weight: issue.weight ?? null,
      condition: p(issue.condition),
      where: plain(issue.where ?? null, unit, false),
    })),
    notComputed,
  };
}

/** Every caution once, with the stage that gave it first. */
export function cautionsOf(answers: Answers): { stage: string; issue: Issue }[] {
  const seen = new Set<string>();
  return Object.entries(answers).flatMap(([stage, answer]) =>
    answer.state !== "ready"
      ? []
      : answer.cautions.flatMap((issue) => {
          const key = `${issue.code} ${published(issue.says)}`;
          if (seen.has(key)) return [];
          seen.add(key);
          return [{ stage, issue }];
        }),
  );
}
