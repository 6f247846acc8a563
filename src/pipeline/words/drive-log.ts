/** What the drive-log leaf says. */
import { decimalsFor, decimalsOf } from "../../format";
import { quantityOf } from "../../quantity";
import { type DriveLog, type DrivePart, tenMinutes_s } from "../drive-log";
import { tooShortForBurn } from "../measured-burn";
import type { Finding, Phrase, WorkingLine } from "./finding";
import { counted, duration, litresPair, quantity, quantityWith } from "./quantity";

const question = "How does the volume move on the road?";

/** @param isFound the litres are those of the table found in the device: there is no curve. */
export function driveLogFinding(logs: DriveLog[], isFound = false): Finding {
  const log = logs[0];
  if (!log) throw new Error("driveLogFinding: needs one log, got 0");
  const sentence: Phrase[] = [
    log.file,
    ...chosenPart(0, log),
    ": in ",
    duration("driveLogs.0.duration_s", log.duration_s),
    ...(outsideAll(log)
      ? [
          ` nothing is seen of the volume: every row lies at or beyond an end of the readings that ${isFound ? "the table found has rows for" : "the curve is known for"}`,
        ]
      : [...course(0, log, " the volume goes from ", " the volume stays at "), ...burn(log)]),
    ".",
  ];
  logs.slice(1).forEach((other, k) => {
    sentence.push(
      ` ${other.file}`,
      ...chosenPart(k + 1, other),
      ": in ",
      duration(`driveLogs.${k + 1}.duration_s`, other.duration_s),
      ...course(k + 1, other, " it goes from ", " it stays at "),
      ".",
    );
  });
  const odd = logs
    .map((l, k): Phrase[] => {
      const found = oddities(l, k);
      return found.length > 0 && logs.length > 1 ? [`in ${l.file} `, ...found] : found;
    })
    .filter((found) => found.length > 0)
    .flatMap((found, k) => (k > 0 ? ["; ", ...found] : found));
  return {
    question,
    sentence,
    further: odd.length > 0 ? ["Marked and kept in the record: ", ...odd, "."] : [],
    short: [shortBurn(log)],
    condition: [
      "Rows at ",
      quantity("driveLogs.0.sampleRate_Hz", log.sampleRate_Hz, "Hz"),
      ", value refreshed at ",
      quantity("driveLogs.0.refreshRate_Hz", log.refreshRate_Hz, "Hz"),
      log.burnIsLeast
        ? ". A part of the log stands at an end of the sender, and what was burnt beyond it no reading shows: the burn may be larger than its ± says."
        : tooShortForBurn(log)
          ? "."
          : log.burnStandard_L_per_h === null
            ? ". The burn is that of the logged flow."
            : isFound
              ? ". The burn’s ± is 95 %, from the scatter of this log alone: the volumes are those of the table found, right or wrong."
              : ". The burn’s ± is 95 %, from the scatter of this log and from how well the curve knows the volume between its ends.",
    ],
    caution:
      logs.reduce((sum, l) => sum + l.duration_s, 0) < tenMinutes_s
        ? "Under ten minutes of driving: steadiness counted on it is uncertain. Drive longer on the roughest road in use."
        : null,
  };
}

/** Which part of a log counts, where that is not all of it. */
function chosenPart(at: number, log: DriveLog): Phrase[] {
  if (log.whole_s - log.duration_s < 1) return [];
  const ends_s = log.startsAt_s + log.duration_s;
  const early = ends_s < log.whole_s - 1;
  const from = log.startsAt_s >= 1 || !early;
  return [
    ...(from ? [", from ", duration(`driveLogs.${at}.startsAt_s`, log.startsAt_s)] : []),
    ...(early ? [from ? " to " : ", up to ", duration(null, ends_s)] : [" on"]),
    ", of its ",
    duration(`driveLogs.${at}.whole_s`, log.whole_s),
  ];
}

/** How long of each kind, where a log is not all driving. */
export function partsOfDrive({ parts }: Pick<DriveLog, "parts">): { kind: DrivePart["kind"]; seconds: number }[] {
  const seconds = (kind: DrivePart["kind"]) => parts.reduce((s, p) => s + (p.kind === kind ? p.to_s - p.from_s : 0), 0);
  const kinds = (["driving", "parked", "refuelling", "gap"] as const).filter((k) => parts.some((p) => p.kind === k));
  return kinds.length === 1 && kinds[0] === "driving" ? [] : kinds.map((kind) => ({ kind, seconds: seconds(kind) }));
}

const partNames: Record<DrivePart["kind"], string> = {
  driving: "driving",
  parked: "parked",
  refuelling: "refuelling",
  gap: "without rows",
};

/** From where to where; one figure where both read the same. */
function course(at: number, log: DriveLog, goes: string, stays: string): Phrase[] {
  // To a tenth: what stands behind them is not known finer than that.
  const [from, to] = litresPair(1, [`driveLogs.${at}.from_L`, log.from_L], [`driveLogs.${at}.to_L`, log.to_L]);
  return from.text === to.text ? [stays, to] : [goes, from, " to ", to];
}

const outsideAll = (log: DriveLog): boolean => log.shows === "sender-end" && Math.abs(log.from_L - log.to_L) < 1e-6;

/** What was burnt an hour; where the log is too short for it, no figure of it at all; where the scatter is larger than that, only how much it may be at most. */
function burn(log: DriveLog): Phrase[] {
  if (tooShortForBurn(log)) return [", and the log is too short to tell a burn"];
  const half = 1.96 * (log.burnStandard_L_per_h ?? 0);
  const whole = quantityWith("driveLogs.0.burn_L_per_h", log.burn_L_per_h, half, "L/h");
  if (!(half > 0) || half < Math.abs(log.burn_L_per_h))
    return [", a burn of ", whole, ...(log.burnIsLeast ? [" or more"] : []), ...whileDriving(log)];
  return [", and no burn can be told from the scatter (", whole, ")"];
}

/** A vehicle that stands for a part of the log, or is filled, burns nothing then that the level shows. */
const whileDriving = (log: DriveLog): Phrase[] => (log.burnOver_s < log.duration_s - 1 ? [" while it is driven"] : []);

/** For the contents: to the place of its uncertainty, and nothing where that is larger than the burn itself. */
function shortBurn(log: DriveLog): Phrase {
  const half = 1.96 * (log.burnStandard_L_per_h ?? 0);
  const whole = quantity("driveLogs.0.burn_L_per_h", log.burn_L_per_h, "L/h");
  if (!(half > 0)) return whole;
  if (tooShortForBurn(log) || half >= Math.abs(log.burn_L_per_h)) return "no burn to tell";
  const decimals = Math.min(decimalsOf(half), decimalsFor(log.burn_L_per_h, 3));
  return quantityOf({
    ...whole,
    rounding: { by: "decimals", decimals },
    ...(log.burnIsLeast ? { after: " or more" } : {}),
  });
}

/** Counts of what was marked, those of nothing left out. */
function oddities(log: DriveLog, index: number): Phrase[] {
  const named: [keyof DriveLog["counts"], string, string][] = [
    ["spikes", "spike", "spikes"],
    ["dropouts", "dropout", "dropouts"],
    ["stuck", "stretch in which the reading stands still", "stretches in which the reading stands still"],
    ["atEnd", "row at an end of the sender", "rows at an end of the sender"],
    ["blank", "blank cell", "blank cells"],
    ["notYetAnswered", "zero before the sender was first read", "zeros before the sender was first read"],
    ["backwards", "row whose time goes back", "rows whose time goes back"],
    ["repeatedStamps", "row that repeats the time before", "rows that repeat the time before"],
  ];
  return named
    .filter(([key]) => log.counts[key] > 0)
    .flatMap(([key, one, many], i) => [
      i > 0 ? ", " : "",
      counted(`driveLogs.${index}.counts.${key}`, log.counts[key], 0),
      ` ${log.counts[key] === 1 ? one : many}`,
    ]);
}

export function driveLogWorking(logs: DriveLog[], isFound = false): WorkingLine[] {
  return logs.flatMap((log, i) => [
    {
      what: `Clock of ${log.file}`,
      formula: "rate = 1 / median step; unevenness = (90th − 10th percentile of the steps) / median step",
      figures: [
        counted(`driveLogs.${i}.rows`, log.rows, 0, "rows"),
        ", ",
        quantity(`driveLogs.${i}.sampleRate_Hz`, log.sampleRate_Hz, "Hz"),
        ", unevenness ",
        quantity(`driveLogs.${i}.clockJitter_fraction`, log.clockJitter_fraction, "", 2),
      ],
      source: null,
    },
    ...(partsOfDrive(log).length === 0
      ? []
      : [
          {
            what: `Parts of ${log.file}`,
            formula:
              "parked: half a minute and more at no more than 1 km/h; refuelling: the trend jumps up; without rows: over 5 s",
            figures: partsOfDrive(log).flatMap((p, k): Phrase[] => [
              k > 0 ? ", " : "",
              `${partNames[p.kind]} `,
              duration(null, p.seconds),
            ]),
            source: null,
          },
        ]),
    {
      what: "Burn trend",
      formula: `from logged fuel flow where there is one, else the median slope of all pairs of block means; ± 95 % from their scatter about it, fewer of them counted where neighbours are alike${isFound ? "" : ", and from the curve’s covariance between the readings at both ends"}`,
      figures: [quantity(`driveLogs.${i}.burn_L_per_h`, log.burn_L_per_h, "L/h")],
      source: "Theil 1950, Sen 1968 (from memory)",
    },
    {
      what: "Spikes",
      formula: "further than six scaled median deviations from the median of the samples around",
      figures: [counted(`driveLogs.${i}.counts.spikes`, log.counts.spikes, 0)],
      source: "Hampel 1974 (from memory)",
    },
  ]);
}
