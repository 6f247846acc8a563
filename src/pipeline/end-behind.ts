/**
 * Ends of a device that smooths behind its table: how far inside must an end row lie, so that the smoothed volume comes to the end at all?
 *
 * What the motion has beyond the end row is held at the end value before it is smoothed. So the smoothed volume stands inside the end by the mean
 * of what is left, s·σ·(φ(z) − z·Φ(−z)) for normal motion with the row z standard deviations inside, however long the time constant. A crossing
 * rate of filtered noise knows nothing of that. Here the mean is taken over the log's own motion; how often the digit flickers is replayed.
 */
import { lookUp, type TablePoint } from "./device-table";
import type { EvenScale, MotionSample } from "./end-motion";

/** Ages of what a first-order filter remembers, in time constants, oldest first: thirds of the exponential distribution. */
const ages = [5 / 6, 1 / 2, 1 / 6].map((share) => -Math.log(1 - share));

/** Share of half a displayed step that is left to hold an end where the deadband takes all of it. Named default, no source. */
const leastHeld = 0.1;

export interface BehindAt {
  samples: MotionSample[];
  scale: EvenScale;
  /** The sender's travel, which no level reads beyond. */
  low: number;
  high: number;
  edge: number;
  /** +1 or −1: where the travel lies from the edge. */
  inward: number;
  /** On another day the end reads so much further inside. */
  dayShift: number;
  end: "empty" | "full";
  step_L: number;
  deadband_L: number;
  /** Share of the motion's standard deviation that the smoothing leaves. */
  left: number;
  /** What a falling level falls by in a time constant, reading unit. */
  late: number;
  /** Rows of the table with the end told at this margin, and what the end shows. */
  tableAt(margin: number): Told;
}

interface Told {
  rows: TablePoint[];
  end_L: number;
}

export interface Behind {
  /** Whether the digit of the end holds with this margin while the level stands at the sender's own end. */
  reached(margin: number): boolean;
  /** The least margin at which it does; the most that was tried where none does. Reading unit. */
  reach: number;
  /** How far inside the edge a falling level reads at rest when the end's digit first comes up, lag counted in; null where it never does. */
  firstShown(margin: number): number | null;
}

/** @param by standard deviations of the smoothed volume under its mean at which a falling level first comes to the end. @param most largest margin that is tried. */
export function createBehind(at: BehindAt, by: number, most: number): Behind {
  const { samples, scale, low, high, edge, inward } = at;
  const half_L = at.step_L / 2;
  const values = samples.map(({ motion }) => new Float64Array(motion.length));
  /** How far inside the end the volume behind the table lies at levels that read so at rest, litres: its mean over them, and its spread at the last. */
  const insideBy = ({ rows, end_L }: Told, sample: number, levels: number[], dayShift: number) => {
    const { motion } = samples[sample]!;
    const reading = values[sample]!;
    const n = Math.max(1, motion.length);
    let mean_L = 0;
    let sd_L = 0;
    for (const level of levels) {
      for (let i = 0; i < motion.length; i++)
        reading[i] = Math.min(high, Math.max(low, scale.from(level + motion[i]!))) + dayShift;
      lookUp(rows, reading, reading);
      let sum = 0;
      let squares = 0;
      for (let i = 0; i < motion.length; i++) {
        const off_L = reading[i]! - end_L;
        sum += off_L;
        squares += off_L * off_L;
      }
      mean_L += Math.abs(sum) / n / levels.length;
      sd_L = Math.sqrt(Math.max(0, squares / n - (sum / n) ** 2));
    }
    return { mean_L, sd_L };
  };
  const every = (holds: (sample: number) => boolean) => samples.every((_, k) => holds(k));
  // A level that falls to empty is shown a deadband high; one that leaves full is held back by it.
  const falling_L = Math.max(leastHeld * half_L, half_L - at.deadband_L);
  const holds_L = at.end === "empty" ? falling_L : half_L + at.deadband_L;
  const reached = (margin: number) => {
    const table = at.tableAt(margin);
    return every((k) => insideBy(table, k, [scale.to(edge)], at.dayShift).mean_L <= holds_L);
  };
  return {
    reached,
    reach: reached(0) ? 0 : changeOver(0, most, (margin) => !reached(margin)),
    firstShown(margin) {
      const table = at.tableAt(margin);
      // What is smoothed is as old as the filter remembers: the level then stood higher.
      const shows = (x: number) =>
        every((k) => {
          const levels = ages.map((age) => scale.to(edge + inward * (x + age * at.late)) + samples[k]!.turn);
          const { mean_L, sd_L } = insideBy(table, k, levels, 0);
          return mean_L - by * at.left * sd_L <= falling_L;
        });
      return shows(0) ? changeOver(0, margin + most, shows) : null;
    },
  };
}

/** Where a claim that holds at `from` stops to hold on the way to `to`, to a ten thousandth of that way; `to` where it never does. */
export function changeOver(from: number, to: number, holds: (x: number) => boolean): number {
  if (holds(to)) return to;
  let [low, high] = [from, to];
  for (let i = 0; i < 14; i++) {
    const middle = (low + high) / 2;
    if (holds(middle)) low = middle;
    else high = middle;
  }
  return high;
}

/**
 * Litres by which the mean of a volume smoothed behind the table stands over what the table says to the level at rest: the bend of the table
 * (½·g″·σ²), and what the end row cuts off. The log with the most of it; never below 0.
 * @param reading what the level reads at rest.
 */
export function liftBehind(
  reading: number,
  rows: TablePoint[],
  { samples, scale, low, high }: Pick<BehindAt, "samples" | "scale" | "low" | "high">,
): number {
  const still = lookUp(rows, Float64Array.of(reading))[0]!;
  const level = scale.to(reading);
  const lifts = samples.map(({ motion }) => {
    const volume_L = lookUp(
      rows,
      motion.map((m) => Math.min(high, Math.max(low, scale.from(level + m)))),
    );
    return volume_L.reduce((sum, v) => sum + v, 0) / Math.max(1, motion.length) - still;
  });
  return Math.max(0, ...lifts);
}
