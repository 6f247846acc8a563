/**
 * Levels in a drive log: does the reading stand on few fixed values, with nothing between them?
 *
 * A ladder of switches that was filled in coarse pours looks like any other sender: each pour reads another level. Under way the fuel moves it from
 * level to level and back, and the levels part by themselves.
 */

/** Parts of the travel in which the readings are counted. Named default, no source. */
const bins = 800;
/** Share of the readings from which on a part is no stray one; parts that lie so close belong to one level. Named defaults, no source. */
const leastShare = 0.0005;
const together = 3;
/** Least levels, rows, share of the rows on them, share of the travel between two, and leaps from one straight to another for each. Named defaults, no source. */
const leastLevels = 4;
const leastRows = 600;
const leastOn = 0.98;
const leastApart = 0.015;
const leapsEach = 3;

/**
 * @param values readings; NaN is passed over. @param travel first and last reading of the sender.
 * @returns how many levels the readings stand on; null where they do not, or where steps of the converter would look the same.
 */
export function levelsIn(values: Float64Array, travel: [number, number]): number | null {
  const low = Math.min(...travel);
  const width = Math.abs(travel[1] - travel[0]) / bins;
  if (!(width > 0)) return null;
  const binOf = (v: number) => Math.floor((v - low) / width);
  const count = new Uint32Array(bins + 1);
  let rows = 0;
  for (const v of values) {
    const b = binOf(v);
    if (!(b >= 0 && b <= bins)) continue;
    count[b]!++;
    rows++;
  }
  if (rows < leastRows) return null;
  const least = Math.max(2, leastShare * rows);
  const levels: { from: number; to: number }[] = [];
  for (let b = 0; b <= bins; b++) {
    if (count[b]! < least) continue;
    const last = levels[levels.length - 1];
    if (last && b - last.to <= together) last.to = b;
    else levels.push({ from: b, to: b });
  }
  if (levels.length < leastLevels) return null;
  const levelOf = new Int16Array(bins + 1).fill(-1);
  for (const [k, { from, to }] of levels.entries()) levelOf.fill(k, Math.max(0, from - 1), to + 2);
  const gaps = levels.slice(1).map((l, k) => l.from - levels[k]!.to);
  const apart = levels.slice(1).map((l, k) => (l.from + l.to - levels[k]!.from - levels[k]!.to) / 2 / bins);
  const widest = Math.max(...levels.map((l) => l.to - l.from + 1));
  if (Math.min(...gaps) < widest / 2) return null;
  if (apart.sort((a, b) => a - b)[apart.length >> 1]! < leastApart) return null;
  let on = 0;
  let leaps = 0;
  let before = -1;
  const [first, other] = [new Float64Array(levels.length).fill(Number.NaN), new Uint8Array(levels.length)];
  for (const v of values) {
    const b = binOf(v);
    const level = b >= 0 && b <= bins ? levelOf[b]! : -1;
    if (level >= 0) {
      on++;
      if (before >= 0 && before !== level) leaps++;
      if (Number.isNaN(first[level]!)) first[level] = v;
      else if (v !== first[level]) other[level] = 1;
    }
    before = level;
  }
  // One value a level and no other: a converter with coarse steps reads like that too.
  const alive = other.reduce((sum, o) => sum + o, 0);
  const stands = on >= leastOn * rows && leaps >= leapsEach * levels.length && alive > levels.length / 2;
  return stands ? levels.length : null;
}
