import { describe, expect, test } from "vitest";
import { createRandom } from "../../src/math/random";
import { type JobInput, resolveJob } from "../../src/pipeline/job";
import { judgeRows, type PourRow, weighRow } from "../../src/pipeline/pour-watch";
import { published } from "../../src/said";
import { measureDrainWatch, sumOf } from "./drain-watch";

const jobOf = (input: JobInput) => {
  const answer = resolveJob(input);
  if (answer.state !== "ready") throw new Error("the job of the test is not ready");
  return answer.value;
};
const plain: JobInput = { tank: { capacity_L: 62 }, circuit: { kind: "none" } };
const judged = (rows: PourRow[], input: JobInput = plain) => {
  const job = jobOf(input);
  const chances = rows.map((_, at) => weighRow(rows, at, job, 0.01, "drain"));
  return judgeRows(rows, chances, job, 0.01, "drain");
};
/** A tank that bends gently, drawn down from 60 L by 4 L each time, read to 10 mV with 4 mV of noise. */
const drawn = (draws: number, seed: number, stop_V = 9): PourRow[] => {
  const random = createRandom(seed);
  let held = 60;
  return Array.from({ length: draws + 1 }, (_, k) => {
    if (k > 0) held -= 4 + 0.03 * random.normal();
    const reading = Math.min(stop_V, 0.5 + 0.06 * held + 0.2 * Math.sin(held / 20)) + 0.004 * random.normal();
    return { added_L: k === 0 ? 0 : 4, reading: Math.round(100 * reading) / 100 };
  });
};

describe("rows of a drain are weighed as they are typed", () => {
  test("on simulated drains most slips are asked about by the next row, and few clean sheets ever are", () => {
    const seeds = Array.from({ length: 24 }, (_, i) => i + 1);
    const clean = seeds.map((seed) => measureDrainWatch(seed, false));
    const slips = seeds.map((seed) => measureDrainWatch(seed, true));
    expect(clean.every((s) => s.clean)).toBe(true);
    expect(clean.filter((s) => s.asked).length).toBeLessThanOrEqual(0.15 * clean.length);
    const worthy = sumOf(slips, (s) => s.worthy);
    expect(worthy).toBeGreaterThan(10);
    expect(sumOf(slips, (s) => s.raised)).toBeGreaterThanOrEqual(0.7 * worthy);
    // Nothing is put in words of pouring.
    for (const s of [...clean, ...slips]) for (const says of s.says) expect(says).not.toMatch(/pour/);
  });

  test("a draw missing from the sheet is asked about in words of drawing, with its litres", () => {
    for (const seed of [1, 2, 3]) {
      const rows = drawn(10, seed).filter((_, k) => k !== 8);
      const said = judged(rows)
        .flatMap((j) => j.remarks)
        .filter((r) => r.row === 8 && r.weight === "check");
      expect(said.map((r) => r.code)).toContain("missing-pour");
      const [, litres, half] = /([\d.]+)\s±\s([\d.]+)\sL more/.exec(published(said[0]!.says))!.map(Number);
      expect(Math.abs(litres! - 4)).toBeLessThan(1.5 * half!);
      expect(published(said[0]!.says)).toMatch(/a draw is missing from the sheet.*before the next draw/);
    }
  });

  test("a float that hangs is asked about, and a clean sheet is not", () => {
    for (const seed of [1, 2, 3]) {
      expect(judged(drawn(14, seed)).flatMap((j) => j.remarks.filter((r) => r.weight === "check"))).toEqual([]);
      const hung = drawn(8, seed);
      hung[8]!.reading = hung[7]!.reading;
      const last = judged(hung)[8]!;
      expect(last.weight).toBe("check");
      expect(published(last.remarks[0]!.says)).toMatch(/stood still while you drew.*before the next draw/);
    }
  });

  test("a full tank that stands on its stop for some draws is no slip", () => {
    for (const seed of [1, 2, 3])
      for (const j of judged(drawn(14, seed, 3.4))) expect(j.remarks.filter((r) => r.weight === "check")).toEqual([]);
  });

  test("what was left at the end is no slip of the pen", () => {
    const rows = drawn(14, 4);
    rows.push({ added_L: 1.2, reading: rows[14]!.reading - 0.09 });
    expect(judged(rows)[15]!.weight).not.toBe("check");
    expect(
      judged(rows)[15]!
        .remarks.map((r) => published(r.says))
        .join(" "),
    ).toContain("unless that was all that was left");
  });

  test("a container of its own has a size of its own: the pours of the fill say nothing of it", () => {
    const small: JobInput = { ...plain, pour: { size_L: 1 } };
    const missing = drawn(10, 1).filter((_, k) => k !== 8);
    const saidOf = (input: JobInput) => judged(missing, input).flatMap((j) => j.remarks.map((r) => r.code));
    expect(saidOf({ ...small, drain: { container: "other" } })).toEqual(saidOf(plain));
    expect(saidOf(small)).not.toEqual(saidOf(plain));
  });

  test("of a ladder nothing is told before its eighth draw, and the row says from when on", () => {
    const ladder: JobInput = { ...plain, sender: { kind: "reed-ladder" } };
    const said = judged(drawn(9, 1), ladder).map((j) => published(j.remarks[0]!.says));
    expect(
      said
        .slice(1, 8)
        .every((s) =>
          s.startsWith(
            "Noted; from draw 8 on each row is judged: over the first of them a ladder passes too few contacts",
          ),
        ),
    ).toBe(true);
    expect(said[8]).toBe("This row fits those before it.");
  });
});
