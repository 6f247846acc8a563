import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  autocorrelation,
  countChanges,
  cutoffOf,
  hampel,
  jump,
  lowPass,
  play,
  smoothingFactor,
  timeConstantOf,
} from "../../src/math/filter";
import { createRandom } from "../../src/math/random";

const record = fc
  .array(fc.double({ min: -100, max: 100, noNaN: true }), { minLength: 2, maxLength: 80 })
  .map((v) => Float64Array.from(v));
const halfWidth = fc.double({ min: 0, max: 40, noNaN: true });
const variance = (v: Float64Array) => {
  const mean = v.reduce((s, x) => s + x, 0) / v.length;
  return v.reduce((s, x) => s + (x - mean) ** 2, 0) / v.length;
};

describe("low-pass: known answers (closed forms of the first-order recursive filter)", () => {
  test.each([
    [0.1, 6, 0.016528546178382397, 0.026525823848649224],
    [0.02, 6, 0.0033277839454766145, 0.026525823848649224],
    [0.1, 1, 0.09516258196404048, 0.15915494309189535],
    [1, 30, 0.0327838995179941, 0.005305164769729845],
  ])("every %d s with a time constant of %d s", (interval_s, timeConstant_s, factor, cutoff_Hz) => {
    expect(smoothingFactor(timeConstant_s, interval_s)).toBeCloseTo(factor, 13);
    expect(cutoffOf(timeConstant_s)).toBeCloseTo(cutoff_Hz, 13);
    expect(timeConstantOf(factor, interval_s)).toBeCloseTo(timeConstant_s, 9);
  });

  test("no smoothing is factor 1, and factor 1 is no smoothing", () => {
    expect(smoothingFactor(0, 0.1)).toBe(1);
    expect(timeConstantOf(1, 0.1)).toBe(0);
  });

  test("white noise keeps α/(2 − α) of its variance, neighbours then correlate by 1 − α", () => {
    const random = createRandom(11);
    const factor = smoothingFactor(1, 0.1);
    const smooth = lowPass(
      Float64Array.from({ length: 400000 }, () => random.normal()),
      factor,
    ).subarray(200);
    expect(Math.abs(variance(smooth) / 0.049958374957880004 - 1)).toBeLessThan(0.03);
    expect(autocorrelation(smooth, 1)).toBeCloseTo(1 - factor, 2);
  });

  test("an AR(1) series (φ 0.95) keeps 0.66168 of its variance at 10 Hz and 1 s (closed form)", () => {
    const random = createRandom(12);
    let state = 0;
    const values = Float64Array.from({ length: 400000 }, () => {
      state = 0.95 * state + Math.sqrt(1 - 0.95 ** 2) * random.normal();
      return state;
    });
    expect(
      Math.abs(variance(lowPass(values, smoothingFactor(1, 0.1))) / variance(values) / 0.6616767 - 1),
    ).toBeLessThan(0.03);
  });

  test("a steady ramp is shown (1 − α)/α steps late: 59.5014 at 10 Hz and 6 s", () => {
    const ramp = Float64Array.from({ length: 3000 }, (_, i) => i);
    expect(2999 - lowPass(ramp, smoothingFactor(6, 0.1))[2999]!).toBeCloseTo(59.5013888824593, 6);
  });

  test("90 % of a step is shown after 2.303 τ", () => {
    const step = Float64Array.from({ length: 400 }, (_, i) => (i === 0 ? 0 : 1));
    const shown = lowPass(step, smoothingFactor(6, 0.1));
    expect(shown.findIndex((v) => v >= 0.9) * 0.1).toBeCloseTo(13.8155, 0);
  });
});

describe("deadbands", () => {
  test("play drags at its distance, jump moves onto the value", () => {
    const values = Float64Array.from([0, 0.5, 3, 2.5, 0.5, 0.5]);
    expect(Array.from(play(values, 1))).toEqual([0, 0, 2, 2, 1.5, 1.5]);
    expect(Array.from(jump(values, 1))).toEqual([0, 0, 3, 3, 0.5, 0.5]);
  });

  test("on a falling level play stands d high and jump d/2 high on average", () => {
    const falling = Float64Array.from({ length: 20001 }, (_, i) => -i / 1000);
    const bias = (shown: Float64Array) =>
      shown.subarray(4000).reduce((s, v, i) => s + v - falling[4000 + i]!, 0) / (falling.length - 4000);
    expect(bias(play(falling, 1))).toBeCloseTo(1, 3);
    expect(bias(jump(falling, 1))).toBeCloseTo(0.5, 2);
  });

  test("neither is ever further than d from the value", () => {
    fc.assert(
      fc.property(record, halfWidth, (values, d) => {
        for (const kind of [play, jump])
          for (const [i, v] of kind(values, d).entries())
            expect(Math.abs(v - values[i]!)).toBeLessThanOrEqual(d + 1e-9);
      }),
    );
  });

  test("play after play adds up: P(b) of P(a) is P(a + b)", () => {
    fc.assert(
      fc.property(record, halfWidth, halfWidth, (values, a, b) => {
        const twice = play(play(values, a), b);
        for (const [i, v] of play(values, a + b).entries()) expect(v).toBeCloseTo(twice[i]!, 8);
      }),
    );
  });

  test("a wider play never turns round more often", () => {
    fc.assert(
      fc.property(record, halfWidth, halfWidth, (values, a, b) => {
        const turns = (d: number) => countChanges(play(values, d)).reversals;
        expect(turns(a + b)).toBeLessThanOrEqual(turns(a));
      }),
    );
  });
});

describe("countChanges", () => {
  test("counts every change once and a change against the one before as a reversal", () => {
    expect(countChanges(Float64Array.from([5, 5, 4, 4, 5, 4, 3, 3, 5]))).toEqual({
      changes: 5,
      reversals: 3,
      upward: 2,
      apart: 0,
    });
  });

  test("changes that are to be counted apart are in no other count, and a reversal may be one against them", () => {
    const shown = Float64Array.from([5, 4, 5, 4, 5, 4]);
    expect(countChanges(shown, Uint8Array.from([0, 0, 1, 1, 0, 0]))).toEqual({
      changes: 3,
      reversals: 2,
      upward: 1,
      apart: 2,
    });
  });

  test("a record that never moves changes nothing", () => {
    expect(countChanges(new Float64Array(50))).toEqual({ changes: 0, reversals: 0, upward: 0, apart: 0 });
  });
});

describe("hampel", () => {
  test("finds single samples that stand out of noise, and little else", () => {
    const random = createRandom(3);
    const values = Float64Array.from({ length: 4000 }, () => 2 + 0.01 * random.normal());
    const spikes = [200, 999, 1500, 2718, 3600];
    for (const i of spikes) values[i]! += 0.5;
    const flags = hampel(values, 12, 6, 0.005);
    for (const i of spikes) expect(flags[i]).toBe(1);
    expect(flags.reduce((s, f) => s + f, 0)).toBe(spikes.length);
  });

  test("a smooth swing of any height is no spike", () => {
    fc.assert(
      fc.property(fc.double({ min: 0.01, max: 1000, noNaN: true }), (height) => {
        const values = Float64Array.from({ length: 2000 }, (_, i) => height * Math.sin((2 * Math.PI * i) / 60));
        expect(hampel(values, 12, 6, 0.01 * height).reduce((s, f) => s + f, 0)).toBe(0);
      }),
      { numRuns: 20 },
    );
  });

  test("flags what medians and distances from whole sorted windows flag, blanks left out", () => {
    const plain = (values: Float64Array, half: number, limit: number, floor: number) => {
      const flags = new Uint8Array(values.length);
      const stride = Math.max(1, half >> 1);
      for (let centre = 0; centre < values.length; centre += stride) {
        const window = [...values.slice(Math.max(0, centre - half), centre + half + 1)].filter((v) => !Number.isNaN(v));
        if (window.length < 3) continue;
        const middle = (list: number[]) => list.sort((a, b) => a - b)[list.length >> 1]!;
        const median = middle(window);
        const scaled = Math.max(1.4826 * middle(window.map((v) => Math.abs(v - median))), floor);
        for (let i = centre; i < Math.min(values.length, centre + stride); i++)
          if (Math.abs(values[i]! - median) > limit * scaled) flags[i] = 1;
      }
      return flags;
    };
    fc.assert(
      fc.property(
        fc.array(fc.oneof(fc.constantFrom(1, 2, 3, Number.NaN), fc.double({ min: -5, max: 9, noNaN: true })), {
          minLength: 1,
          maxLength: 120,
        }),
        fc.integer({ min: 1, max: 14 }),
        fc.constantFrom(1, 2, 3.5, 6),
        (list, half, limit) => {
          const values = Float64Array.from(list);
          expect([...hampel(values, half, limit, 0.01)]).toEqual([...plain(values, half, limit, 0.01)]);
        },
      ),
      { numRuns: 300 },
    );
  });
});
