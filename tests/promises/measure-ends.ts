/** Measures what the display does at its two ends on fresh drives: ten hours at each, down to a dry pick-up and from a brimful tank. */
import { freshDrive, restReading, type WorldJob } from "../../datasets/world/job";
import { createTank } from "../../datasets/world/tank";
import { type Device, runDevice } from "./replay";
import { countFlickers } from "./score";

export interface EndsScore {
  hours: { empty: number; full: number };
  emptyFlickersPerHour: number;
  fullFlickersPerHour: number;
  /** Of these, left while the level at rest stood in what the device holds as that end; an hour of such standing. */
  emptyStandingPerHour: number | null;
  fullStandingPerHour: number | null;
  /** Drives down to a dry pick-up: in how many the low end had been shown by then, and was shown at that moment. */
  dryDrives: number;
  shownBefore: number;
  shownAtDry: number;
  /** True usable litres when the low end first came up, percent of capacity; one a drive that showed it. */
  leftAtFirst: number[];
}

/** Ten times the hour in which one flicker is wanted. */
const wantedHours = 10;

export function measureEnds(world: WorldJob, device: Device): EndsScore {
  const { truth } = world;
  const capacity_L = truth.tank.capacity_L;
  const rest = restReading(truth, "service", createTank(truth.tank));
  const rows = device.table;
  const rising = rows[rows.length - 1]!.volume_L > rows[0]!.volume_L;
  const outer = {
    empty: rows[rising ? 0 : rows.length - 1]!.reading,
    full: rows[rising ? rows.length - 1 : 0]!.reading,
  };
  /** The level at rest lies where the device holds this end. */
  const held = (end: "empty" | "full", added_L: number) => {
    const past = (rest(added_L) - outer[end]) * (rising ? 1 : -1);
    return end === "empty" ? past <= 0 : past >= 0;
  };
  const count = { empty: emptyCount(), full: emptyCount() };
  const add = (end: "empty" | "full", shown_L: Float64Array, end_L: number, added_L: Float64Array) => {
    const c = count[end];
    c.flickers += countFlickers(shown_L, end_L);
    c.hours += shown_L.length / truth.deviceRate_Hz / 3600;
    // Standing is looked up once a second: the level moves little in that time.
    const stride = Math.round(truth.deviceRate_Hz);
    let from = 0;
    let standing = false;
    for (let i = 0; i < shown_L.length; i += stride) {
      const now = held(end, added_L[i]!);
      if (now) c.standingHours += 1 / 3600;
      if (standing && !now) c.standingFlickers += countFlickers(shown_L.subarray(from, i), end_L);
      if (!standing && now) from = i;
      standing = now;
    }
    if (standing) c.standingFlickers += countFlickers(shown_L.subarray(from), end_L);
  };
  for (let d = 0; count.full.hours < wantedHours - 0.01; d++) {
    const fresh = freshDrive(truth, 1000 + d, 30, { from: 1 });
    const shown = runDevice(device, fresh.reading, fresh.record.across_g);
    add("full", shown.shown_L, shown.highEnd_L, fresh.added_L);
  }
  let dryDrives = 0;
  let shownBefore = 0;
  let shownAtDry = 0;
  const leftAtFirst: number[] = [];
  const start_L = truth.unusable_L + 0.07 * capacity_L;
  const minutes = Math.min(120, (60 * (start_L - truth.unusable_L)) / truth.drive.burn_L_per_h + 6);
  for (let d = 0; count.empty.hours < wantedHours - 0.01; d++) {
    const fresh = freshDrive(truth, 2000 + d, minutes, { from: start_L / capacity_L });
    const shown = runDevice(device, fresh.reading, fresh.record.across_g);
    add("empty", shown.shown_L, shown.lowEnd_L, fresh.added_L);
    const dry = fresh.contents_L.findIndex((c) => c <= truth.unusable_L);
    if (dry < 0) continue;
    dryDrives++;
    const first = shown.shown_L.indexOf(shown.lowEnd_L);
    if (first >= 0 && first <= dry) shownBefore++;
    if (shown.shown_L[dry] === shown.lowEnd_L) shownAtDry++;
    if (first >= 0) leftAtFirst.push((100 * (fresh.contents_L[first]! - truth.unusable_L)) / capacity_L);
  }
  const { empty, full } = count;
  const perHour = (n: number, hours: number) => (hours > 0.25 ? n / hours : null);
  return {
    hours: { empty: empty.hours, full: full.hours },
    emptyFlickersPerHour: empty.flickers / empty.hours,
    fullFlickersPerHour: full.flickers / full.hours,
    emptyStandingPerHour: perHour(empty.standingFlickers, empty.standingHours),
    fullStandingPerHour: perHour(full.standingFlickers, full.standingHours),
    dryDrives,
    shownBefore,
    shownAtDry,
    leftAtFirst,
  };
}

const emptyCount = () => ({ flickers: 0, hours: 0, standingFlickers: 0, standingHours: 0 });
