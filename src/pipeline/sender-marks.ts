/** What the sender itself shows: discrete levels of a reed ladder, and stops over which the reading does not move. */
import type { DeadZone, FillRun, FixedSteps } from "./fill-run";
import type { FillJob } from "./job";

/** Moves between levels stand so many times over those on one (our own bound). */
const partedBy = 6;

/**
 * How far readings on one level lie apart, where typed digits are finer than the readings repeat: then no rounding tells it. The moves from step to step
 * fall into two heaps with nothing between them, and those of the lower are it. 0 where they do not.
 */
function scatterOnLevels(readings: number[]): number {
  const moves = readings
    .slice(1)
    .map((r, k) => Math.abs(r - readings[k]!))
    .sort((a, b) => a - b);
  let parted = -1;
  let most = partedBy;
  for (let k = Math.ceil(0.35 * readings.length) - 1; k + 3 < moves.length; k++) {
    const times = moves[k + 1]! / moves[k]!;
    if (moves[k]! > 0 && times > most) {
      most = times;
      parted = k;
    }
  }
  // Half way between the heaps, as ratios go: a group's mean may lie a little further off than any two neighbours.
  return parted < 0 ? 0 : Math.sqrt(moves[parted]! * moves[parted + 1]!);
}

/**
 * Levels of a fixed-step sender. Stated as a reed ladder, or seen: half of the pours or more leave the reading exactly alone
 * while others move it by clear jumps. A step tells only that a switching volume lies between two pours.
 */
export function findFixedSteps(run: FillRun, job: FillJob, readingStep: number): FixedSteps | null {
  const steps = run.steps;
  if (steps.length < 6) return null;
  // One plateau that wavered between two levels says nothing of how well the others are parted: each pair has its own errors.
  const scatter = scatterOnLevels(steps.map((s) => s.reading));
  const tolerance = (a: FillRun["steps"][number], b: FillRun["steps"][number]) =>
    Math.max(1.5 * readingStep, 3 * Math.max(a.standardError, b.standardError), scatter);
  const groups: { reading: number; first: number; last: number; n: number }[] = [];
  for (let i = 0; i < steps.length; i++) {
    const group = groups[groups.length - 1];
    if (group && Math.abs(steps[i]!.reading - group.reading) <= tolerance(steps[i]!, steps[group.last]!)) {
      group.reading = (group.reading * group.n + steps[i]!.reading) / (group.n + 1);
      group.n += 1;
      group.last = i;
    } else groups.push({ reading: steps[i]!.reading, first: i, last: i, n: 1 });
  }
  const repeated = steps.length - groups.length;
  const inner = groups.slice(1, -1);
  const twice = inner.filter((g) => g.n > 1).length;
  const seen = repeated >= 0.35 * steps.length && twice >= 3;
  if (job.sender.kind !== "reed-ladder" && !seen) return null;
  const total = steps[steps.length - 1]!.volume_L - steps[0]!.volume_L;
  // The typical height between two levels; pours coarser than the levels make one pour a level.
  const height_L = total / Math.max(1, groups.length - 0.5);
  return {
    levels: groups.map((g) => g.reading).sort((a, b) => a - b),
    height_L,
    resolved: twice >= Math.max(2, 0.2 * inner.length),
    intervals: groups.map((g) => ({
      reading: g.reading,
      from_L: g.first > 0 ? (steps[g.first - 1]!.volume_L + steps[g.first]!.volume_L) / 2 : steps[g.first]!.volume_L,
      to_L:
        g.last + 1 < steps.length
          ? (steps[g.last]!.volume_L + steps[g.last + 1]!.volume_L) / 2
          : steps[g.last]!.volume_L,
    })),
  };
}

/** Dead zones: two or more steps at an end over which the reading stays where it is while volume goes on. */
export function findDeadZones(run: FillRun, sense: 1 | -1, readingStep: number): DeadZone[] {
  const steps = run.steps;
  const n = steps.length;
  if (n < 5) return [];
  const moves = steps.slice(1).map((s, i) => Math.abs(s.reading - steps[i]!.reading));
  const typical = [...moves].sort((a, b) => a - b)[moves.length >> 1]!;
  const still = (a: number, b: number) => {
    const noise = Math.hypot(steps[a]!.standardError, steps[b]!.standardError, readingStep / Math.sqrt(6));
    const [first, last] = a < b ? [steps[a]!, steps[b]!] : [steps[b]!, steps[a]!];
    const forward = sense * (last.reading - first.reading);
    // A reading that creeps back while fuel is poured is not on its way either: only a stop lets it.
    if (forward <= 0) return -forward <= 0.15 * typical;
    return forward <= Math.min(0.12 * typical, Math.max(3 * noise, 0.03 * typical));
  };
  const zones: DeadZone[] = [];
  const build = (end: "empty" | "full", indices: number[], neighbour: number) => {
    const a = steps[indices[0]!]!;
    const b = steps[indices[indices.length - 1]!]!;
    const hidden_L = Math.abs(b.volume_L - a.volume_L);
    const noise = Math.hypot(a.standardError, b.standardError);
    const next = steps[neighbour]!;
    const from = end === "empty" ? b.volume_L : next.volume_L;
    const to = end === "empty" ? next.volume_L : steps[indices[0]!]!.volume_L;
    zones.push({
      end,
      reading: indices.reduce((s, i) => s + steps[i]!.reading, 0) / indices.length,
      hidden_L,
      edge_L: (from + to) / 2,
      edgeStandard_L: Math.abs(to - from) / Math.sqrt(12),
      slopeUpper: (Math.abs(b.reading - a.reading) + 1.96 * noise) / Math.max(hidden_L, 1e-9),
      steps: indices.map((i) => steps[i]!.index),
    });
  };
  let low = 0;
  while (low + 1 < n - 2 && still(low, low + 1) && still(0, low + 1)) low++;
  if (low > 0)
    build(
      "empty",
      Array.from({ length: low + 1 }, (_, i) => i),
      low + 1,
    );
  let high = n - 1;
  while (high - 1 > low + 1 && still(high, high - 1) && still(n - 1, high - 1)) high--;
  if (high < n - 1)
    build(
      "full",
      Array.from({ length: n - high }, (_, i) => high + i),
      high - 1,
    );
  return zones;
}
