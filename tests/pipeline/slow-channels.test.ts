import { describe, expect, test } from "vitest";
import { heldValues, rowsWithReading } from "../../src/pipeline/slow-channels";
import { driveText, log, noise } from "./driven-log";

const column = (cells: (number | null)[]) => ({
  values: Float64Array.from(cells, (c) => c ?? Number.NaN),
  valid: Uint8Array.from(cells, (c) => (c === null ? 0 : 1)),
});
const rows = (n: number) => Int32Array.from({ length: n }, (_, i) => i);

describe("channels that are logged more seldom than the file has rows", () => {
  test("a blank holds the value before it, and nothing is held for long", () => {
    const cells = Array.from({ length: 60 }, (_, i) => (i % 3 === 1 && i < 40 ? i : null));
    const held = heldValues(column(cells), rows(60));
    expect(held[0]).toBeNaN();
    expect([...held.subarray(1, 7)]).toEqual([1, 1, 1, 4, 4, 4]);
    // The last value stands in row 37, and five spacings of three rows later it is no longer one.
    expect(held[52]).toBe(37);
    expect(held[53]).toBeNaN();
  });

  test("rows that are left out between two kept ones still hand on their value", () => {
    const cells = Array.from({ length: 40 }, (_, i) => (i % 4 === 1 ? i : null));
    expect([...heldValues(column(cells), Int32Array.of(4, 8, 12))]).toEqual([1, 5, 9]);
  });

  test("a reading on every fourth row is one of a quarter of the rate; lone and uneven blanks stay rows", () => {
    const seldom = rowsWithReading(column(Array.from({ length: 80 }, (_, i) => (i % 4 === 0 ? i : null))), rows(80));
    expect(seldom?.every).toBe(4);
    expect(seldom?.keep.length).toBe(20);
    expect(
      rowsWithReading(column(Array.from({ length: 80 }, (_, i) => (i % 4 === 0 ? null : i))), rows(80)),
    ).toBeNull();
    const uneven = Array.from({ length: 80 }, (_, i) => ((i * i) % 7 === 1 ? i : null));
    expect(rowsWithReading(column(uneven), rows(80))).toBeNull();
  });

  test("a log with the sender on every tenth row reads like the log of those rows alone", () => {
    const all = driveText({ slosh: 1.5 }).split("\n");
    const alone = [all[0]!, ...all.slice(1).filter((_, i) => i % 10 === 0)].join("\n");
    const between = all.map((l, i) => (i === 0 || (i - 1) % 10 === 0 ? l : `${l.split(",")[0]},`)).join("\n");
    expect(log(between).log.refreshRate_Hz).toBeCloseTo(2, 6);
    expect(log(between).cautions).toContain("drive-log/seldom-read note");
    const [a, b] = [noise(alone), noise(between)];
    expect(b.totalSd).toBe(a.totalSd);
    expect(b.whyNoPeak).toBe(a.whyNoPeak);
    expect(b.whyNoPeak).toMatch(/too slowly/);
  });
});
