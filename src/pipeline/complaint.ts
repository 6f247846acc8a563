/**
 * Complaint: why does the display, as it was found, do what its driver says?
 *
 * Takes the table, smoothing, deadband and warning found in the device and the drive log (and the curve, if there is a fill run), and
 * names a cause for each trouble that really shows. A cause is tried by changing that one thing and replaying the log.
 */

import { type Answer, type Issue, ready } from "../answer";
import { type Said, say } from "../said";
import { foundDeadband, foundRows, foundUnit, readingTwice } from "./as-found";
import type { Circuit } from "./circuit";
import { bounceAtAnEnd } from "./complaint-bounce";
import { dancesUnderWay } from "./complaint-dance";
import { deadbandTooWide } from "./complaint-deadband";
import { type FoundDevice, withLeaps } from "./complaint-device";
import { lampAlwaysOn, lampInACorner } from "./complaint-lamp";
import { slowAfterRefuel } from "./complaint-slow";
import { otherSender, wrongInTheMiddle } from "./complaint-table";
import { notSeen } from "./complaint-unseen";
import type { Curve, VolumeByReading } from "./curve-types";
import { heldVolts } from "./deadband-in-volts";
import { orderOf } from "./device-model";
import { atDeviceRate } from "./device-record";
import { shownAs, type TablePoint } from "./device-table";
import { deviceScale } from "./device-unit";
import type { Display } from "./display";
import type { DriveLog } from "./drive-log";
import type { Job, ReadingUnit } from "./job";

export type Trouble = NonNullable<Job["complaint"]>;

export interface Cause {
  trouble: Trouble;
  /** E.g. `no-margin`, `tilt`, `straight-line`; `unknown` where the trouble shows and nothing that is known here makes it. */
  cause: string;
  /** The finding first, then what shows it, with its figures. */
  says: Said;
  remedy: Said;
  /** How bad it is against what is wanted: 1 is just bearable. For the order. */
  weight: number;
  /** What the sentence stands on, units in the names. */
  figures: Record<string, number | string | null>;
}

export interface Complaint {
  /** What the driver says, if the job states it. */
  stated: Trouble | null;
  /** The stated trouble's cause first, then the worst. */
  causes: Cause[];
  /** The first cause's sentence; where the stated trouble does not show, that. */
  says: Said;
  remedy: Said | null;
}

/**
 * @param litres the curve, or without a fill run the table found; @param curve only where a fill run stands behind it.
 * @returns null where nobody complains and there is no table found in the device or nothing is wrong with it. A stated complaint always has its
 *   sentence: where it cannot be looked into, what mends that. Caution `complaint/smoothing-not-stated`.
 */
export function explainComplaint(
  job: Job,
  logs: DriveLog[] | null,
  litres: VolumeByReading | null,
  curve: Curve | null,
  circuit: Circuit | null,
  display: Display | null,
): Answer<Complaint | null> {
  const stated = job.complaint;
  const unit = litres?.readingUnit ?? foundUnit(job);
  const table = foundRows(job, unit);
  const missing = unusable(job, table, unit);
  if (missing) return ready(stated === null ? null : { stated, causes: [], ...missing });
  const device = foundDevice(job, { table, unit }, logs, litres, circuit, display);
  const causes = [
    ...(["empty", "full"] as const).map((end) => bounceAtAnEnd(end, device, display, job)),
    lampAlwaysOn(device, job) ?? lampInACorner(device, display, curve, job),
    curve
      ? wrongInTheMiddle(table, curve, circuit, job, device.settings.along)
      : otherSender(table, device.records, circuit, job),
    deadbandTooWide(device, display, job),
    dancesUnderWay(device, display, job),
    slowAfterRefuel(device, display, job),
  ].filter((c): c is Cause => c !== null && (stated !== null || !limitsMayHold(c, job)));
  // A needle that dances everywhere says less than where it bounces, lights or is wrong.
  const rank = ({ trouble }: Cause) =>
    trouble === stated ? 0 : trouble === "dances" || trouble === "slow-after-refuel" ? 2 : 1;
  causes.sort((a, b) => rank(a) - rank(b) || b.weight - a.weight);
  const cautions = device.records.length > 0 ? smoothingNotStated(job) : [];
  if (stated !== null && causes[0]?.trouble !== stated) {
    const unseen = notSeen(stated, device, curve, job);
    const also = causes[0] ? say` What it shows instead: ${causes[0].says}` : "";
    return ready({ stated, causes, says: say`${unseen.says}${also}`, remedy: unseen.remedy }, cautions);
  }
  const first = causes[0];
  return ready(first ? { stated, causes, says: first.says, remedy: first.remedy } : null, cautions);
}

/** A device that has fault limits holds drop-outs back if they are set: where that is not known and nobody complains, they are no cause. */
const limitsMayHold = (cause: Cause, { asFound, device }: Job): boolean =>
  cause.cause === "dropouts" && asFound.faultLimits === null && device.has.includes("fault-limits");

function foundDevice(
  job: Job,
  { table, unit }: { table: TablePoint[]; unit: ReadingUnit },
  logs: DriveLog[] | null,
  litres: VolumeByReading | null,
  circuit: Circuit | null,
  display: Display | null,
): FoundDevice {
  const total_L = Math.max(...(litres?.grid ?? table).map((g) => g.volume_L));
  const shown = shownAs(job, job.tank.capacity_L ?? total_L);
  const limits = { low: circuit?.faultLow ?? null, high: circuit?.faultHigh ?? null };
  const { warnAt, timeConstant_s, faultLimits } = job.asFound;
  const band = foundDeadband(job, total_L);
  const span = table[table.length - 1]!.reading - table[0]!.reading;
  return {
    settings: {
      order: orderOf(job),
      timeConstant_s: timeConstant_s ?? 0,
      deadband_L: band.deadband_L,
      // Without one in the device, what is tried beside it holds as the one that is recommended.
      holds:
        heldVolts({ litres: band.deadband_L, volts: band.typed }, unit, job) ??
        (display && heldVolts({ litres: display.deadband_L, volts: display.asked.deadband }, unit, job)),
      deadbandKind: display?.deadbandKind ?? "play",
      faultLimits: faultLimits === true,
      table,
      along: deviceScale(unit, foundUnit(job), job)?.scale.to ?? null,
      shown,
    },
    records: (logs ?? []).map((log) => {
      const record = atDeviceRate(log, job.device.rate_Hz, limits.low, limits.high);
      return { log, record, held: withLeaps(log, record, span) };
    }),
    warn_L: warnAt === null ? null : (warnAt * shown.step_L) / job.device.displayStep + shown.offset_L,
    faultLimits,
    limits,
  };
}

/** Why the table found cannot be replayed at all, and what mends it; null where it can. */
function unusable(job: Job, table: TablePoint[], unit: string): Pick<Complaint, "says" | "remedy"> | null {
  const not = "The complaint cannot be looked into yet: ";
  const { unread, table: rows } = job.asFound;
  if (unread)
    return {
      says: `${not}the table found in the device is not read, because ${unread}.`,
      remedy: "State in the job what is missing, or write the table’s rows as reading_V and volume_L.",
    };
  if (rows.length < 2)
    return {
      says: `${not}the job states ${rows.length === 0 ? "no table that was found in the device" : "one row of the table found in the device, and a line needs two"}.`,
      remedy: "Copy the device’s table into the job, with its smoothing, deadband and warning.",
    };
  if (table.length < 2)
    return rows.length === table.length
      ? null
      : {
          says:
            table.length === 0
              ? `${not}the table found in the device is in ${foundUnit(job)}, the readings are in ${unit}, and the job does not say how one becomes the other.`
              : `${not}all rows of the table found in the device are the same.`,
          remedy:
            table.length === 0
              ? "State pull-up and supply, or the converter’s bits, in the job, or copy the table in the unit of the readings."
              : "Copy the table again: two rows or more that differ.",
        };
  const twice = readingTwice(table);
  if (twice !== null)
    return {
      says: `${not}the table found in the device gives two volumes for the reading ${twice}.`,
      remedy: "Correct or take out one of the two rows.",
    };
  return null;
}

function smoothingNotStated({ asFound }: Job): Issue[] {
  return asFound.timeConstant_s === null
    ? [
        {
          code: "complaint/smoothing-not-stated",
          says: "The smoothing found in the device is not stated: it is replayed without any.",
          remedy: "Copy the time constant from the device; 0 s if it smooths nothing.",
          weight: "holds-if",
          condition: "the device smooths nothing",
        },
      ]
    : [];
}
