import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { judgeRow, type PourRow, type WatchedJob } from "../../src/pipeline/pour-watch";

const job: WatchedJob = {
  readingStep: 0.01,
  readingSign: "V",
  capacity_L: 60,
  fixedSteps: false,
  deviceTimeConstant_s: null,
  wait_s: null,
};
/** Equal pours of 4 L, each moving the reading by 0.2 V, from 0.5 V. */
const even = (pours: number): PourRow[] =>
  Array.from({ length: pours + 1 }, (_, k) => ({ added_L: k === 0 ? 0 : 4, reading: 0.5 + 0.2 * k }));
const codes = (rows: PourRow[], at: number) => judgeRow(rows, at, job).remarks.map((r) => r.code);

describe("judgeRow", () => {
  test("finds nothing odd in equal pours that move the reading alike", () => {
    const rows = even(10);
    for (const k of rows.keys()) expect(judgeRow(rows, k, job).weight).toBe("fine");
  });

  test("a pour that moves the reading half as far is asked about before the next", () => {
    const rows = even(6);
    rows[6]!.reading = rows[5]!.reading + 0.1;
    const judged = judgeRow(rows, 6, job);
    expect(judged.weight).toBe("check");
    expect(judged.ratio).toBeCloseTo(0.5, 9);
    expect(judged.remarks[0]!.says).toContain("half as far as the last ones");
  });

  test("a pour missing from the sheet moves the reading twice as far", () => {
    const rows = even(6);
    rows[6]!.reading = rows[5]!.reading + 0.4;
    expect(codes(rows, 6)).toContain("double");
  });

  test("a reading that goes back, and one that stands still, are asked about", () => {
    const back = even(6);
    back[6]!.reading = back[5]!.reading - 0.1;
    expect(codes(back, 6)).toContain("back");
    const still = even(6);
    still[6]!.reading = still[5]!.reading;
    expect(codes(still, 6)).toContain("still");
  });

  test("back on line after an odd row, the row before is to blame", () => {
    const rows = even(7);
    rows[6]!.reading += 0.1;
    expect(codes(rows, 7)).toContain("row-before");
  });

  test("a decimal slip in a pour, and a sheet over the tank's capacity, are named", () => {
    const rows = even(6);
    rows[6]!.added_L = 44;
    expect(codes(rows, 6)).toEqual(expect.arrayContaining(["odd-pour", "over-capacity"]));
  });

  test("a smoothing device holds back exp(−wait/τ) of the move", () => {
    const rows = even(5);
    const judged = judgeRow(rows, 5, { ...job, deviceTimeConstant_s: 10, wait_s: 20 });
    expect(judged.leftIn!.share).toBeCloseTo(0.1353352832, 9);
    // 0.2 V were seen of m: m(1 − 0.1353) = 0.2, so m·0.1353 are still missing.
    expect(judged.leftIn!.reading).toBeCloseTo((0.2 / (1 - Math.exp(-2))) * Math.exp(-2), 9);
    expect(judged.remarks.some((r) => r.code === "wait")).toBe(true);
  });

  test("a ladder of contacts may stand still and jump without a remark", () => {
    const rows = even(12);
    for (const [k, row] of rows.entries()) row.reading = 0.5 + 0.4 * Math.floor(k / 2);
    for (const k of rows.keys()) expect(judgeRow(rows, k, { ...job, fixedSteps: true }).weight).toBe("fine");
  });

  test("an incomplete row is said to be incomplete, a row that does not exist throws", () => {
    expect(judgeRow([{ added_L: 0, reading: Number.NaN }], 0, job).remarks[0]!.code).toBe("no-reading");
    expect(() => judgeRow(even(2), 9, job)).toThrow("judgeRow: row 9 of 3");
  });

  test("the judgement is the same for a falling sender, and later rows do not change it", () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -0.1, max: 0.6, noNaN: true }), { minLength: 4, maxLength: 12 }),
        (moves) => {
          const rows: PourRow[] = [{ added_L: 0, reading: 1 }];
          for (const m of moves) rows.push({ added_L: 4, reading: rows[rows.length - 1]!.reading + m });
          const k = rows.length - 2;
          const mirrored = rows.map((r) => ({ ...r, reading: -r.reading }));
          const one = judgeRow(rows, k, job);
          expect(judgeRow(rows.slice(0, k + 1), k, job)).toEqual(one);
          expect(judgeRow(mirrored, k, job).remarks.map((r) => r.code)).toEqual(one.remarks.map((r) => r.code));
        },
      ),
      { seed: 1, numRuns: 300 },
    );
  });
});
