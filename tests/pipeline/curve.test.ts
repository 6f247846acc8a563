import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { volumeAt } from "../../src/pipeline/curve-lookup";
import { textOf } from "../../src/pipeline/words/all";
import { curveWorking } from "../../src/pipeline/words/curve";
import { analyse, job, sheet, trueLitres, trueVolts } from "./fill-world";

const places = Array.from({ length: 41 }, (_, i) => 0.6 + (3.3 * i) / 40);

describe("fitCurve", () => {
  test("a clean run of 15 steps gives the true litres within 0.5 L everywhere", () => {
    const { curve } = analyse(sheet(1));
    for (const r of places) expect(Math.abs(volumeAt(curve, r) - trueLitres(r))).toBeLessThan(0.5);
  });

  test("over 20 jobs the 95 % band holds the truth in 90 to 100 % of places", () => {
    let inside = 0;
    let width = 0;
    for (let seed = 100; seed < 120; seed++) {
      const { curve } = analyse(sheet(seed));
      for (const r of places) {
        const at = curve.grid.reduce((a, b) => (Math.abs(b.reading - r) < Math.abs(a.reading - r) ? b : a));
        const truth = trueLitres(at.reading);
        if (at.lower_L <= truth && truth <= at.upper_L) inside++;
        width += at.upper_L - at.lower_L;
      }
    }
    const all = 20 * places.length;
    expect(inside / all).toBeGreaterThan(0.9);
    // A band that buys coverage by width would not pass: under 2 % of 60 L each side.
    expect(width / all / 2).toBeLessThan(1.2);
  });

  test("readings rise strictly and volumes never fall, whatever the hand did", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 200, max: 400 }),
        fc.double({ min: 0.001, max: 0.15, noNaN: true }),
        (seed, noise) => {
          const { grid } = analyse(sheet(seed, { noise, n: 12 })).curve;
          for (let i = 1; i < grid.length; i++) {
            expect(grid[i]!.reading).toBeGreaterThan(grid[i - 1]!.reading);
            expect(grid[i]!.volume_L).toBeGreaterThanOrEqual(grid[i - 1]!.volume_L - 1e-9);
            expect(grid[i]!.lower_L).toBeLessThanOrEqual(grid[i]!.volume_L);
          }
        },
      ),
      { numRuns: 12, seed: 2 },
    );
  });

  test("whatever was misread or mistyped, no band reaches further than a quarter beyond what can have been poured", () => {
    const slip = fc.record({
      step: fc.integer({ min: 1, max: 12 }),
      to_V: fc.double({ min: 0.4, max: 4, noNaN: true }),
    });
    fc.assert(
      fc.property(fc.integer({ min: 500, max: 600 }), fc.array(slip, { minLength: 1, maxLength: 3 }), (seed, slips) => {
        const s = sheet(seed, { n: 14 });
        for (const { step, to_V } of slips) s.readings[step] = Number(to_V.toFixed(3));
        const { grid } = analyse(s).curve;
        // One pour may be missing from the sheet.
        const poured = Math.max(...s.volumes) + job.pour!.size_L!;
        for (const g of grid) {
          expect(g.lower_L).toBeGreaterThan(-0.25 * poured);
          expect(g.upper_L).toBeLessThan(1.25 * poured);
          expect(g.lower_L).toBeLessThanOrEqual(g.volume_L + 1e-9);
          expect(g.upper_L).toBeGreaterThanOrEqual(g.volume_L - 1e-9);
        }
      }),
      { numRuns: 25, seed: 5 },
    );
  });

  test("twice the litres on every scale give twice the curve and twice the band", () => {
    const s = sheet(5);
    const one = analyse(s).curve;
    const two = analyse(
      { volumes: s.volumes.map((v) => 2 * v), readings: s.readings },
      { job: { ...job, tank: { capacity_L: 120 }, pour: { size_L: 8, errorPerPour_L: 0.06, scaleErrorLimit: 0.005 } } },
    ).curve;
    for (const r of places) expect(volumeAt(two, r)).toBeCloseTo(2 * volumeAt(one, r), 4);
    expect(two.overall.bandHalfWidth_L).toBeCloseTo(2 * one.overall.bandHalfWidth_L, 3);
  });

  test("a sender that reads the other way round gives the mirrored curve", () => {
    const s = sheet(6);
    const back = { volumes: s.volumes, readings: s.readings.map((r) => Number((5 - r).toFixed(3))) };
    const one = analyse(s).curve;
    const other = analyse(back).curve;
    expect(other.sense).toBe(-1);
    for (const r of places) expect(volumeAt(other, 5 - r)).toBeCloseTo(volumeAt(one, r), 1);
  });

  test("more steps of one run never shrink what its container adds: half of the scale error stays at half", () => {
    const wide = { ...job, pour: { ...job.pour, scaleErrorLimit: 0.05 } };
    for (const n of [8, 15, 29]) {
      const { curve } = analyse(sheet(7, { n, pour_L: 56 / (n - 1) }), {
        job: { ...wide, pour: { ...wide.pour, size_L: 56 / (n - 1) } },
      });
      const top = curve.grid[curve.grid.length - 1]!;
      expect(top.standard_L).toBeGreaterThan((0.05 / Math.sqrt(3)) * 50);
    }
  });

  test("a reading far over full with one digit wrong does not stretch the curve: it ends at the last level that was poured to", () => {
    const readings = [0.42, 0.61, 0.83, 1.02, 2.21, 1.44, 1.62, 1.85];
    const { curve, suspects } = analyse({ volumes: readings.map((_, i) => 5 * i), readings });
    expect(suspects.runs[0]!.steps.filter((s) => !s.accepted).map((s) => s.index)).toEqual([4]);
    const [first, last] = [curve.grid[0]!, curve.grid.at(-1)!];
    expect([first.reading, last.reading]).toEqual([0.42, 1.85]);
    for (let i = 1; i < curve.grid.length; i++)
      expect(curve.grid[i]!.reading).toBeGreaterThan(curve.grid[i - 1]!.reading);
    expect(Math.abs(last.volume_L - 35)).toBeLessThan(0.5);
    // The same slip at the end of the run may be the truth of the end: there the curve goes on to it.
    const top = analyse({ volumes: readings.map((_, i) => 5 * i), readings: [...readings.slice(0, 7), 2.21] });
    expect(top.curve.grid.at(-1)!.reading).toBe(2.21);
  });

  test("two points alone are told to be off by what they are off", () => {
    const { curve } = analyse(sheet(8));
    // The bend of the sender: the line between the ends misses it by 60 L times the largest gap.
    let worst = 0;
    const [a, b] = [trueVolts(0), trueVolts(56)];
    for (let l = 0; l <= 56; l += 0.1) worst = Math.max(worst, Math.abs((56 * (trueVolts(l) - a)) / (b - a) - l));
    expect(curve.overall.twoPointError_L).toBeCloseTo(worst, 0);
  });

  test("two steps make a line, with the ignorance said", () => {
    const { curve } = analyse({ volumes: [0, 60], readings: [0.5, 4.5] });
    expect(volumeAt(curve, 2.5)).toBeCloseTo(30, 0);
    const middle = curve.grid[40]!;
    expect(middle.upper_L - middle.lower_L).toBeGreaterThan(5);
  });

  test("typed knots stay where they are typed", () => {
    const { curve } = analyse(sheet(9), { choices: { curve: { shape: "piecewise", knots: [1.5, 3] } } });
    expect(curve.chosen.knots.map((k) => k.reading).slice(1, -1)).toEqual([1.5, 3]);
    expect(curve.chosen.why).toContain("typed");
  });

  test("one more is looked for beside a typed knot; the curve says so, and a curve is made of it", () => {
    const broken = (l: number) =>
      0.5 + 0.09 * Math.min(l, 20) + 0.045 * Math.max(0, Math.min(l, 40) - 20) + 0.09 * Math.max(0, l - 40);
    const { curve } = analyse(sheet(71, { volts: broken }), {
      choices: { curve: { shape: null, knots: [broken(20)], free: 1 } },
    });
    const inner = curve.chosen.knots.slice(1, -1);
    expect(inner[0]).toMatchObject({ reading: broken(20), standardError: null });
    expect(Math.abs(inner[1]!.reading - broken(40))).toBeLessThan(0.15);
    expect(inner[1]!.standardError).toBeGreaterThan(0);
    expect(curve.chosen.why).toContain("where they leave least over");
    expect(Math.abs(volumeAt(curve, broken(30)) - 30)).toBeLessThan(0.7);
    const words = textOf(curveWorking(curve).flatMap((w) => w.figures));
    expect(words).toContain("kink typed at");
  });

  test("a flat piece is flat in the curve; one that does not lie between typed knots is refused with its reason", () => {
    const { curve } = analyse(sheet(72), { choices: { curve: { shape: null, knots: [1.5, 2], flat: [2] } } });
    // The drawn curve cuts its corners by a step of the grid.
    expect(volumeAt(curve, 1.6)).toBeCloseTo(volumeAt(curve, 1.9), 6);
    expect(curve.shape).toBe("piecewise");
    const none = analyse(sheet(72), { choices: { curve: { shape: null, knots: [1.5], flat: [4] } } });
    expect(none.curve.shape).toBe("smooth");
  });

  test("a straight sender is explained by one straight line", () => {
    const straight = (l: number) => 0.5 + l / 15;
    for (let seed = 60; seed < 66; seed++)
      expect(analyse(sheet(seed, { volts: straight })).curve.chosen.kind).toBe("line");
  });

  test("a broken sender is explained by two pieces, its knot found within 0.1 V", () => {
    const broken = (l: number) => 0.5 + 0.09 * Math.min(l, 28) + 0.045 * Math.max(0, l - 28);
    const { curve } = analyse(sheet(70, { volts: broken }));
    expect(curve.chosen.kind).toBe("piecewise");
    expect(curve.chosen.knots).toHaveLength(3);
    expect(Math.abs(curve.chosen.knots[1]!.reading - broken(28))).toBeLessThan(0.1);
  });
});
