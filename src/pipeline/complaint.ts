/**
 * Complaint: why does the display, as it was found, do what its driver says?
 *
 * Takes the table, smoothing, deadband and warning found in the device and the drive log (and the curve, if there is a fill run), and
 * names a cause for each trouble that really shows. A cause is tried by changing that one thing and replaying the log.
 */
import { type Answer, ready } from "../answer";
import { foundDeadband, foundRows } from "./as-found";
import type { Circuit } from "./circuit";
import { bounceAtAnEnd, type FoundDevice, lampInACorner } from "./complaint-drive";
import { wrongInTheMiddle } from "./complaint-table";
import type { Curve, VolumeByReading } from "./curve-types";
import { orderOf } from "./device-model";
import { atDeviceRate } from "./device-record";
import { shownAs } from "./device-table";
import type { Display } from "./display";
import type { DriveLog } from "./drive-log";
import { type Job, unusableOffset_L } from "./job";

export type Trouble = "bounces-at-an-end" | "lamp-in-a-corner" | "wrong-in-the-middle";

export interface Cause {
  trouble: Trouble;
  /** E.g. `no-margin`, `tilt`, `straight-line`; `unknown` where the trouble shows and nothing that is known here makes it. */
  cause: string;
  /** The finding first, then what shows it, with its figures. */
  says: string;
  remedy: string;
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
  says: string;
  remedy: string | null;
}

const inWords: Record<Trouble, string> = {
  "bounces-at-an-end": "bounce at an end",
  "lamp-in-a-corner": "lamp that comes on in corners",
  "wrong-in-the-middle": "wrong middle",
};

/**
 * @param litres the curve, or without a fill run the table found; @param curve only where a fill run stands behind it.
 * @returns null without a table found in the device, or where nothing is wrong with it and nobody complains.
 */
export function explainComplaint(
  job: Job,
  logs: DriveLog[] | null,
  litres: VolumeByReading | null,
  curve: Curve | null,
  circuit: Circuit | null,
  display: Display | null,
): Answer<Complaint | null> {
  const table = foundRows(job);
  const stated = job.complaint;
  if (table.length < 2) return ready(null);
  const total_L = Math.max(...(litres?.grid ?? table).map((g) => g.volume_L));
  const shown = shownAs(job, job.tank.capacity_L ?? total_L);
  const device: FoundDevice = {
    settings: {
      order: orderOf(job),
      timeConstant_s: job.asFound.timeConstant_s ?? 0,
      deadband_L: foundDeadband(job, total_L).deadband_L,
      deadbandKind: display?.deadbandKind ?? "play",
      faultLimits: false,
      table,
      shown,
    },
    records: (logs ?? []).map((log) => ({
      log,
      record: atDeviceRate(log, job.device.rate_Hz, circuit?.faultLow ?? null, circuit?.faultHigh ?? null),
    })),
    warn_L:
      job.asFound.warnAt === null
        ? null
        : (job.asFound.warnAt * shown.step_L) / job.device.displayStep +
          (job.device.shows === "usable" ? unusableOffset_L(job).offset_L : 0),
  };
  const causes = [
    ...(["empty", "full"] as const).map((end) => bounceAtAnEnd(end, device, job)),
    lampInACorner(device, display, job),
    curve ? wrongInTheMiddle(table, curve, circuit, job) : null,
  ].filter((c) => c !== null);
  causes.sort((a, b) => Number(b.trouble === stated) - Number(a.trouble === stated) || b.weight - a.weight);
  if (stated !== null && causes[0]?.trouble !== stated) {
    const also = causes[0] ? ` What it shows instead: ${causes[0].says}` : "";
    return ready({
      stated,
      causes,
      says: `The ${inWords[stated]} does not show in what you brought.${also}`,
      remedy:
        stated === "wrong-in-the-middle"
          ? "Bring a fill run: without one nothing says what is really in the tank."
          : "Bring a log of a drive on which it happens.",
    });
  }
  const first = causes[0];
  return ready(first ? { stated, causes, says: first.says, remedy: first.remedy } : null);
}
