/** Clock of a drive log: gaps in it, and rows that come faster at one time than at another. */
import type { Issue } from "../answer";
import { withUnit } from "../format";

/** As long as the device model leaves a gap out (device-model.ts). */
const gap_s = 5;
/** Rows that come so many times faster in one part of the log than in another are told. Named default, no source. */
const unlike = 2;
/** The log is looked at in so many parts of as many rows. */
const pieces = 20;

/**
 * What is told of the clock, as notes: the values stay as they are.
 * @param time_s strictly rising. @param interval_s the usual step from row to row.
 */
export function unevenClock(file: string, time_s: Float64Array, interval_s: number): Issue[] {
  const issues: Issue[] = [];
  const n = time_s.length;
  const from_s = time_s[0]!;
  let gaps = 0;
  let lost_s = 0;
  let longest = 0;
  for (let i = 1; i < n; i++) {
    const step = time_s[i]! - time_s[i - 1]!;
    if (!(step > Math.max(gap_s, 10 * interval_s))) continue;
    gaps++;
    lost_s += step;
    if (step > time_s[longest + 1]! - time_s[longest]! || gaps === 1) longest = i - 1;
  }
  if (gaps > 0) {
    const length_s = time_s[longest + 1]! - time_s[longest]!;
    const after_s = time_s[longest]! - from_s;
    issues.push({
      code: "drive-log/gaps",
      says: `${file}: ${gaps === 1 ? `a gap of ${withUnit(length_s, "s", 2)}, ${withUnit(after_s, "s", 2)} from the start` : `${gaps} gaps, ${withUnit(lost_s, "s", 2)} in all, the longest of ${withUnit(length_s, "s", 2)}, ${withUnit(after_s, "s", 2)} from the start`}. Nothing is counted in ${gaps === 1 ? "it" : "them"}.`,
      weight: "note",
    });
  }
  const size = Math.floor(n / pieces);
  if (size < 10) return issues;
  const steps = Array.from({ length: pieces }, (_, p) => {
    const inside = time_s.subarray(p * size + 1, (p + 1) * size).map((t, i) => t - time_s[p * size + i]!);
    return inside.sort()[inside.length >> 1]!;
  });
  const slow = steps.indexOf(Math.max(...steps));
  const fast = steps.indexOf(Math.min(...steps));
  if (steps[slow]! > unlike * steps[fast]!) {
    const at = (p: number) => withUnit(time_s[p * size]! - from_s, "s", 2);
    issues.push({
      code: "drive-log/rate-changes",
      says: `${file}: the rows do not come at one rate: each ${withUnit(steps[fast]!, "s", 2)} about ${at(fast)} from the start, each ${withUnit(steps[slow]!, "s", 2)} about ${at(slow)} from it. Where they come slowly the motion between them is not seen.`,
      remedy: "Log at one rate, 10 Hz or faster.",
      weight: "note",
    });
  }
  return issues;
}
