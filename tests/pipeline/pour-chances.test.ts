import { describe, expect, test } from "vitest";
import { stillTrue } from "../../src/leaves/pour-judgements";
import { createRandom } from "../../src/math/random";
import { type Job, type JobInput, resolveJob } from "../../src/pipeline/job";
import { chancesSoFar, type PourRow } from "../../src/pipeline/pour-chances";

const jobOf = (input: JobInput): Job => {
  const answer = resolveJob(input);
  if (answer.state !== "ready") throw new Error("the job of the test is not ready");
  return answer.value;
};
const plain: JobInput = { tank: { capacity_L: 80 }, circuit: { kind: "none" }, pour: { size_L: 3 } };
/** A tank that bends gently, 3 L a pour, read to 10 mV with 4 mV of noise. */
const gentle = (rows: number, seed: number): PourRow[] => {
  const random = createRandom(seed);
  let volume = 0;
  return Array.from({ length: rows }, (_, k) => {
    if (k > 0) volume += 3 + 0.03 * random.normal();
    const reading = 0.5 + 0.045 * volume + 0.25 * Math.sin(volume / 25) + 0.004 * random.normal();
    return { added_L: k === 0 ? 0 : 3, reading: Math.round(100 * reading) / 100 };
  });
};
const top = (rows: PourRow[], row: number, job = jobOf(plain)) =>
  chancesSoFar(rows, job, 0.01)!.slips.find((s) => s.row === row);

describe("chancesSoFar", () => {
  test("tells nothing under four rows, on an incomplete last row, or while the reading has not moved", () => {
    expect(chancesSoFar(gentle(3, 1), jobOf(plain), 0.01)).toBeNull();
    const open = [...gentle(6, 1), { added_L: 3, reading: Number.NaN }];
    expect(chancesSoFar(open, jobOf(plain), 0.01)).toBeNull();
    const still = gentle(6, 1).map((r) => ({ ...r, reading: 1 }));
    expect(chancesSoFar(still, jobOf(plain), 0.01)).toBeNull();
  });

  test("the expected reading of the last row holds the true one within its uncertainty", () => {
    let inside = 0;
    for (let seed = 1; seed <= 20; seed++) {
      const rows = gentle(14, seed);
      const { expected } = chancesSoFar(rows, jobOf(plain), 0.01)!;
      if (Math.abs(rows[13]!.reading - expected!.reading) <= 1.96 * expected!.standard) inside++;
    }
    // 95 % of 20 rows, less two standard deviations of that count.
    expect(inside).toBeGreaterThanOrEqual(17);
  });

  test("chances of a row's slip are parts of its whole, and none is over one", () => {
    for (let seed = 1; seed <= 6; seed++) {
      const rows = gentle(12, seed);
      rows[10]!.reading += 0.08;
      for (const slip of chancesSoFar(rows, jobOf(plain), 0.01)!.slips) {
        expect(slip.reading + slip.pour).toBeCloseTo(slip.chance, 9);
        expect(slip.missing).toBeLessThanOrEqual(slip.pour + 1e-12);
        expect(slip.chance).toBeLessThanOrEqual(1 + 1e-9);
      }
    }
  });

  test("a misread row is told with its right reading once one more row stands", () => {
    const rows = gentle(14, 2);
    const was = rows[12]!.reading;
    rows[12]!.reading += 0.1;
    const slip = top(rows, 12)!;
    expect(slip.reading).toBeGreaterThan(0.9);
    expect(Math.abs(slip.expected!.reading - was)).toBeLessThan(2.6 * Math.hypot(slip.expected!.standard, 0.005));
  });

  test("a pour missing from the sheet is told with its litres", () => {
    const rows = gentle(16, 3);
    const missing = [...rows.slice(0, 12), ...rows.slice(13)];
    const slip = top(missing, 12)!;
    expect(slip.missing).toBeGreaterThan(0.5);
    expect(Math.abs(slip.more_L!.amount - 3)).toBeLessThan(2.6 * slip.more_L!.standard);
  });

  test("a row without a reading is poured all the same", () => {
    const rows = gentle(14, 4);
    rows[12] = { ...rows[12]!, reading: Number.NaN };
    expect(chancesSoFar(rows, jobOf(plain), 0.01)!.slips.every((s) => s.chance < 0.5)).toBe(true);
  });

  test("does not depend on the units of reading and volume", () => {
    const rows = gentle(13, 5);
    rows[11]!.reading += 0.1;
    const one = chancesSoFar(rows, jobOf(plain), 0.01)!;
    const scaled = rows.map((r) => ({ added_L: r.added_L / 4, reading: 1000 * r.reading }));
    const job = jobOf({ ...plain, tank: { capacity_L: 20 }, pour: { size_L: 0.75 } });
    const other = chancesSoFar(scaled, job, 10)!;
    expect(other.slips.map((s) => s.row)).toEqual(one.slips.map((s) => s.row));
    for (const [i, s] of one.slips.entries()) expect(other.slips[i]!.chance).toBeCloseTo(s.chance, 6);
    expect(other.expected!.reading / 1000).toBeCloseTo(one.expected!.reading, 6);
  });
});

describe("what is weighed on the page is kept while it is true", () => {
  const rows = gentle(6, 1);
  const typed = { rows, job: jobOf(plain), readingStep: 0.01 };

  test("rows after the first change are weighed again, and all where job or step change", () => {
    const changed = rows.map((r, i) => (i === 4 ? { ...r, reading: r.reading + 0.1 } : r));
    expect(stillTrue(typed, { ...typed, rows: changed })).toBe(4);
    expect(stillTrue(typed, { ...typed, rows: [...rows, { added_L: 3, reading: 2 }] })).toBe(6);
    expect(stillTrue(typed, { ...typed, readingStep: 0.001 })).toBe(0);
    expect(stillTrue(typed, { ...typed, job: jobOf({ ...plain, tank: { capacity_L: 81 } }) })).toBe(0);
    expect(stillTrue(null, typed)).toBe(0);
  });

  test("a row whose reading is still open stays the same row", () => {
    const open = [...rows, { added_L: 3, reading: Number.NaN }];
    expect(stillTrue({ ...typed, rows: open }, { ...typed, rows: [...open] })).toBe(7);
  });
});
