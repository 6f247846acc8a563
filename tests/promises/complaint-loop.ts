/**
 * Closed loop of the complaint: a device with one known trouble, or none, is handed over with its logs, and what the first sentence blames is mended
 * in an independent replay of the true drive. A cause whose mending does not mend the display is wrong.
 */

import { valueIn } from "../../src/answer";
import type { Cause, Complaint } from "../../src/pipeline/complaint";
import { published } from "../../src/said";
import { type ComplaintCase, complaintCase, type Planted, planted, soundDevice } from "./complaint-case";
import { type Changed, type Troubles, troublesOf } from "./complaint-truth";
import { type Line, share } from "./lines";
import { pipelineOf } from "./pipeline-run";

export type Judgement = "right" | "wrong" | "missed" | "rightly silent" | "cannot be told";

export interface JudgedComplaint {
  seed: number;
  planted: Planted;
  stated: string | null;
  withFill: boolean;
  logRate_Hz: number;
  judgement: Judgement;
  why: string;
  says: string;
  remedy: string | null;
  cause: string | null;
  found: Troubles;
}

/** So many in the true drive are a trouble, and clearly one: between both the log may show it or not. */
const shows = 3;
const clearly = 8;
/** Left of a trouble, at most, once its cause is mended. */
const leftOver = 0.25;

export function judgeComplaint(c: ComplaintCase): JudgedComplaint {
  const { stages } = pipelineOf(c.world);
  const answer = stages.complaint.read();
  if (answer.state !== "ready")
    throw new Error(
      `seed ${c.seed}, ${c.planted}: ${answer.state === "stuck" ? published(answer.issue.says) : "waits"}`,
    );
  const complaint: Complaint | null = answer.value;
  const display = valueIn(stages.display.read());
  const job = valueIn(stages.job.read())!;
  const found = troublesOf(c);
  const first = complaint?.causes[0] ?? null;
  const tolerance_L = job.targets.tolerance_L ?? 0.02 * c.sound.capacity_L;
  const smoothed: Changed = display
    ? {
        factor: display.timeConstant_s > 0 ? 1 - Math.exp(-1 / (c.device.rate_Hz * display.timeConstant_s)) : 1,
        deadband_L: display.deadband_L,
      }
    : {};
  const clear = clearTroubles(c, found, tolerance_L);
  const judged = judge();
  return {
    seed: c.seed,
    planted: c.planted,
    stated: c.stated,
    withFill: c.withFill,
    logRate_Hz: c.logRate_Hz,
    says: published(complaint?.says ?? ""),
    remedy: complaint?.remedy ? published(complaint.remedy) : null,
    cause: first ? `${first.trouble}: ${first.cause}` : null,
    found,
    ...judged,
  };

  function judge(): { judgement: Judgement; why: string } {
    const quiet = c.stated !== null && first?.trouble !== c.stated;
    if (quiet && clear.includes(c.stated!))
      return c.stated === "wrong-in-the-middle" && !c.withFill
        ? { judgement: "cannot be told", why: "no fill run" }
        : { judgement: "missed", why: `${c.stated} is there and is said not to show` };
    if (!first) {
      const unseen = clear.filter((t) => t !== "wrong-in-the-middle" || c.withFill);
      return unseen.length > 0
        ? { judgement: "missed", why: unseen.join(", ") }
        : { judgement: "rightly silent", why: "" };
    }
    if (first.cause === "unknown") return { judgement: "missed", why: "cause unknown" };
    const why = objection(c, first, found, smoothed, tolerance_L);
    return why ? { judgement: "wrong", why } : { judgement: "right", why: "" };
  }
}

function clearTroubles(c: ComplaintCase, found: Troubles, tolerance_L: number): string[] {
  const wanted = c.world.job.targets!;
  const sound = troublesOf(c, { table: c.sound.device.table });
  return [
    ...((["empty", "full"] as const).some(
      (end) => found.flickers[end] >= clearly && found.flickersPerHour[end] > 2 * wanted.endFlickersPerHour!,
    )
      ? ["bounces-at-an-end"]
      : []),
    ...(found.falseLights >= clearly ? ["lamp-in-a-corner"] : []),
    ...(Math.abs(found.middle_L) > Math.max(1.5 * tolerance_L, 2 * Math.abs(sound.middle_L))
      ? ["wrong-in-the-middle"]
      : []),
    ...(found.reversalsPerMinute > 3 * wanted.displayReversalsPerMinute! ? ["dances"] : []),
    ...(c.stated === "slow-after-refuel" && found.refuel_s !== null && found.refuel_s > 90
      ? ["slow-after-refuel"]
      : []),
  ];
}

/** What is not so in a named cause; null where mending it mends the display. */
function objection(
  c: ComplaintCase,
  { trouble, cause, figures }: Cause,
  found: Troubles,
  smoothed: Changed,
  tolerance_L: number,
): string | null {
  const byMotion = cause !== "dropouts" && cause !== "spikes" && cause !== "no-margin";
  const changeOf = (name: string): Changed =>
    name === "dropouts" || name === "spikes"
      ? { unmarked: true }
      : name === "quick-filter"
        ? { factor: smoothed.factor! }
        : name === "no-deadband" || name === "narrow-deadband"
          ? { deadband_L: smoothed.deadband_L! }
          : smoothed;
  if (trouble === "dances") {
    const wanted = c.world.job.targets!.displayReversalsPerMinute!;
    // Minded, more than is wanted is too much; unasked, it takes clearly more.
    if (!(found.reversalsPerMinute > (c.stated === "dances" ? 1 : 1.5) * wanted))
      return `truly ${found.reversalsPerMinute.toFixed(1)} a minute`;
    const after = troublesOf(c, changeOf(cause)).reversalsPerMinute;
    if (byMotion && troublesOf(c, { unmarked: true }).reversalsPerMinute <= leftOver * found.reversalsPerMinute)
      return "spikes and drop-outs do it";
    return after <= Math.max(1.25 * wanted, leftOver * found.reversalsPerMinute)
      ? null
      : `${found.reversalsPerMinute.toFixed(1)} a minute, mended ${after.toFixed(1)}`;
  }
  if (trouble === "slow-after-refuel") {
    if (c.stated !== trouble && cause !== "slow-filter") return "nobody minds";
    if (found.refuel_s === null) return c.planted === "slow filter" ? "no refuel" : null;
    if (!(found.refuel_s > 50)) return `truly ${found.refuel_s.toFixed(0)} s`;
    const told = figures.shownAfter_s as number | null;
    if (told !== null && Math.abs(told - found.refuel_s) > 0.2 * found.refuel_s)
      return `told ${told.toFixed(0)} s, truly ${found.refuel_s.toFixed(0)} s`;
    const after = troublesOf(c, { factor: smoothed.factor! }).refuel_s!;
    return cause === "slow-filter"
      ? after <= 0.7 * found.refuel_s
        ? null
        : `${found.refuel_s.toFixed(0)} s, mended ${after.toFixed(0)} s`
      : after > 0.5 * found.refuel_s
        ? null
        : `said to be needed, and with the recommended smoothing ${after.toFixed(0)} s`;
  }
  if (trouble === "bounces-at-an-end") {
    const end = figures.end as "empty" | "full";
    if (found.flickers[end] < shows) return `truly ${found.flickers[end]} flickers at ${end}`;
    const left = (change: Changed) => {
      const after = troublesOf(c, change);
      return after.flickersPerHour[end] <= c.world.job.targets!.endFlickersPerHour! ? 0 : after.flickers[end];
    };
    if (cause === "moving-level" && c.planted.startsWith("row on")) {
      const byMargin = Math.min(...[1, 2, 3].map((percent) => left({ table: movedBy(c, end, percent / 100) })));
      if (byMargin <= leftOver * found.flickers[end])
        return `a margin would do it: ${byMargin} of ${found.flickers[end]}`;
    }
    if (byMotion && left({ unmarked: true }) <= leftOver * found.flickers[end]) return "spikes and drop-outs do it";
    const change = cause === "no-margin" ? { table: moved(c, figures) } : changeOf(cause);
    const after = left(change);
    return after <= leftOver * found.flickers[end]
      ? null
      : `${found.flickers[end]} flickers at ${end}, mended ${after}`;
  }
  if (trouble === "lamp-in-a-corner") {
    if (found.falseLights < shows) return `truly ${found.falseLights} false lights`;
    if (cause === "warning-over-full") return "the warning is under full";
    const after = troublesOf(c, cause === "table" ? { table: c.sound.device.table } : changeOf(cause)).falseLights;
    if (byMotion && troublesOf(c, { unmarked: true }).falseLights <= leftOver * found.falseLights)
      return "spikes and drop-outs do it";
    if (after > leftOver * found.falseLights) return `${found.falseLights} false lights, mended ${after}`;
    if (cause === "tilt") {
      const centred = troublesOf(c, { centred: figures.direction as "across" | "along" }).falseLights;
      if (centred > 0.5 * found.falseLights)
        return `${found.falseLights} false lights, ${centred} with the sender in the middle`;
    }
    return null;
  }
  if (trouble === "wrong-in-the-middle") {
    if (!(Math.abs(found.middle_L) > 0.8 * tolerance_L)) return `truly off by ${found.middle_L.toFixed(1)} L`;
    if (cause === "reversed") return c.planted === "reversed sender" ? null : "the table is the right way round";
    if (cause === "other-sender") return c.planted === "other sender" ? null : "the table is this sender’s";
    const error_L = figures.error_L as number;
    // What the fill run itself hides is its curve's: the sound table is off by it too.
    const hidden_L = Math.abs(troublesOf(c, { table: c.sound.device.table }).middle_L);
    if (!(Math.abs(error_L - found.middle_L) < 0.35 * Math.abs(found.middle_L) + tolerance_L + hidden_L))
      return `told ${error_L.toFixed(1)} L, truly ${found.middle_L.toFixed(1)} L`;
    const after = troublesOf(c, { table: c.sound.device.table }).middle_L;
    if (Math.abs(after) > Math.max(1.3 * tolerance_L, 0.5 * Math.abs(found.middle_L)))
      return `off by ${found.middle_L.toFixed(1)} L, with the sound table ${after.toFixed(1)} L`;
    if (cause === "other-table" && c.planted === "two rows") return "the table is this sender’s";
    if (cause === "straight-line" && c.device.table.length > 3) return "more than three rows";
    return null;
  }
  return `no check for ${trouble}`;
}

/** The table with the row moved as the remedy says. */
function moved(c: ComplaintCase, figures: Cause["figures"]) {
  return c.device.table.map((r) =>
    Math.abs(r.reading - (figures.rowReading as number)) < 1e-6 + 1e-3 * Math.abs(r.reading)
      ? { ...r, reading: figures.movedReading as number }
      : r,
  );
}

/** The table with the row of an end moved in by a share of its span. */
function movedBy(c: ComplaintCase, end: "empty" | "full", share: number) {
  const rows = c.device.table;
  const rising = rows[rows.length - 1]!.volume_L > rows[0]!.volume_L;
  const at = (end === "full") === rising ? rows.length - 1 : 0;
  const span = rows[rows.length - 1]!.reading - rows[0]!.reading;
  const moved = rows[at]!.reading + (at === 0 ? 1 : -1) * share * span;
  // Rows that the end row passes are taken out, as one would.
  return rows.flatMap((r, i) =>
    i === at ? [{ ...r, reading: moved }] : (at === 0 ? r.reading > moved : r.reading < moved) ? [r] : [],
  );
}

export function complaintsOf(from: number, to: number, kinds: readonly Planted[] = planted): JudgedComplaint[] {
  const all: JudgedComplaint[] = [];
  for (let seed = from; seed <= to; seed++) {
    const sound = soundDevice(seed);
    if (!sound) continue;
    for (const kind of kinds) all.push(judgeComplaint(complaintCase(sound, kind)));
  }
  return all;
}

export const complaintLines = (from: number, to: number): Line[] => countComplaints(complaintsOf(from, to));

export function countComplaints(all: JudgedComplaint[]): Line[] {
  const of = (name: string, some: JudgedComplaint[]): Line => {
    const count = (j: Judgement) => some.filter((c) => c.judgement === j).length;
    const named = count("right") + count("wrong");
    return {
      promise: name,
      jobs: some.length,
      value: `${count("right")} right, ${count("wrong")} wrong, ${count("missed")} missed, ${count("rightly silent")} rightly silent, ${count("cannot be told")} cannot be told`,
      figures: { right: count("right"), wrong: count("wrong"), missed: count("missed"), named },
      beside: named > 0 ? `${share(count("right") / named)} of the named right` : "",
    };
  };
  return [
    ...planted.map((kind) =>
      of(
        kind,
        all.filter((c) => c.planted === kind),
      ),
    ),
    of("all", all),
  ];
}
