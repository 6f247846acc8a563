import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { lookUp, rawTable, twoPoints } from "./naive";
import { runDevice } from "./replay";
import {
  binomialCdf,
  clopperPearson,
  countChanges,
  countFlickers,
  coverage,
  leastPossibleRms,
  matchFaults,
  quantile,
  rms,
} from "./score";

describe("shares and their intervals", () => {
  it("clopperPearson without a hit in n gives the upper limit 1 − (α/2)^(1/n), the closed form of its definition", () => {
    const [lower, upper] = clopperPearson(0, 20);
    expect(lower).toBe(0);
    expect(upper).toBeCloseTo(1 - 0.025 ** (1 / 20), 10);
  });

  it("clopperPearson leaves 2.5 % in each binomial tail", () => {
    const [lower, upper] = clopperPearson(7, 23);
    expect(1 - binomialCdf(6, 23, lower)).toBeCloseTo(0.025, 9);
    expect(binomialCdf(7, 23, upper)).toBeCloseTo(0.025, 9);
  });

  it("binomialCdf of a fair coin is counted by hand: 1 + 4 + 6 of 16", () => {
    expect(binomialCdf(2, 4, 0.5)).toBeCloseTo(11 / 16, 12);
  });

  it("the interval of a share mirrors when hits and misses are exchanged", () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 300 }), fc.double({ min: 0, max: 1, noNaN: true }), (n, part) => {
        const hits = Math.floor(part * n);
        const [lower, upper] = clopperPearson(hits, n);
        const [mirrorLower, mirrorUpper] = clopperPearson(n - hits, n);
        expect(lower).toBeCloseTo(1 - mirrorUpper, 8);
        expect(upper).toBeCloseTo(1 - mirrorLower, 8);
        expect(lower).toBeLessThanOrEqual(hits / n);
        expect(upper).toBeGreaterThanOrEqual(hits / n);
      }),
      { numRuns: 60 },
    );
  });

  it("quantile and rms of small samples are what is reckoned by hand", () => {
    expect(quantile([4, 1, 3, 2], 0.5)).toBe(2.5);
    expect(quantile([1, 2, 3, 4, 5], 0.9)).toBeCloseTo(4.6, 12);
    expect(rms([3, -4])).toBeCloseTo(Math.sqrt(12.5), 12);
  });
});

describe("what the display did", () => {
  it("a rise of three digits is three changes and no reversal; going back is one", () => {
    expect(countChanges([1, 1, 2, 3, 4, 4])).toEqual({ changes: 3, reversals: 0 });
    expect(countChanges([1, 2, 1])).toEqual({ changes: 2, reversals: 1 });
    expect(countChanges([5, 6, 6, 5, 5, 6])).toEqual({ changes: 3, reversals: 2 });
  });

  it("leaving the end and coming back is one flicker; leaving for good is none, arriving is none", () => {
    expect(countFlickers([0, 1, 0, 0], 0)).toBe(1);
    expect(countFlickers([0, 1, 2], 0)).toBe(0);
    expect(countFlickers([2, 1, 0, 0], 0)).toBe(0);
    expect(countFlickers([0, 1, 2, 1, 0, 1, 0], 0)).toBe(2);
  });

  it("reversals never outnumber the changes that come after the first", () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: 5 }), { maxLength: 60 }), (shown) => {
        const { changes, reversals } = countChanges(shown);
        expect(reversals).toBeLessThanOrEqual(Math.max(0, changes - 1));
      }),
    );
  });
});

describe("tables and bands", () => {
  const steps = [
    { reading: 2, volume_L: 0 },
    { reading: 1.5, volume_L: 10 },
    { reading: 0.5, volume_L: 40 },
  ];

  it("two points join the first and the last step, the raw table all of them; outside the end value is held", () => {
    expect(lookUp(twoPoints(steps), 1.25)).toBeCloseTo(20, 12);
    expect(lookUp(rawTable(steps), 1.25)).toBeCloseTo(17.5, 12);
    expect(lookUp(rawTable(steps), 9)).toBe(0);
    expect(lookUp(rawTable(steps), -9)).toBe(40);
  });

  it("a sender with two levels of 10 L each leaves 10/√12 L whatever the table", () => {
    const volumes = Array.from({ length: 2000 }, (_, i) => (i + 0.5) / 100);
    const readings = volumes.map((v) => (v < 10 ? 1 : 2));
    expect(leastPossibleRms(volumes, readings)).toBeCloseTo(10 / Math.sqrt(12), 3);
  });

  it("a smooth sender leaves nothing", () => {
    const volumes = Array.from({ length: 100 }, (_, i) => i);
    expect(leastPossibleRms(volumes, volumes)).toBe(0);
  });

  it("coverage counts the points inside, limits included, and averages the half-widths", () => {
    const scored = coverage([
      { truth: 1, lower: 1, upper: 3 },
      { truth: 5, lower: 0, upper: 4 },
    ]);
    expect(scored).toEqual({ share: 0.5, halfWidth: 1.5 });
  });
});

describe("faults", () => {
  const faults = [
    { kind: "missed-pour", step: 4, inStandardErrors: 12 },
    { kind: "hung-float", step: 9, inStandardErrors: 8 },
    { kind: "wrong-reading", step: 12, inStandardErrors: 2 },
  ];

  it("right kind and step is named; a hung float may be called a wrong reading; small ones do not count", () => {
    const events = [
      { kind: "missed-pour", step: 4 },
      { kind: "wrong-reading", step: 9 },
    ];
    expect(matchFaults(events, faults)).toEqual({ worthy: 2, found: 2, named: 2, falseFlags: 0 });
  });

  it("the wrong kind is found and not named; “cannot be told” is not found; far from any fault is false", () => {
    const events = [
      { kind: "wrong-reading", step: 4 },
      { kind: "cannot-be-told", step: 9 },
      { kind: "wrong-pour", step: 7 },
    ];
    expect(matchFaults(events, faults)).toEqual({ worthy: 2, found: 1, named: 0, falseFlags: 1 });
  });
});

describe("the device that scores are taken from", () => {
  const plain = {
    table: [
      { reading: 0, volume_L: 0 },
      { reading: 10, volume_L: 100 },
    ],
    factor: 1,
    deadband_L: 0,
    deadbandKind: "play" as const,
    faultLow: 0,
    faultHigh: 10,
    order: "reading-then-table" as const,
    rate_Hz: 10,
    features: { medianOf: 1, holdOver_g: null, rateLimit_L_per_s: null, refuel: null },
    displayStep_L: 1,
  };

  it("a step is smoothed to 1 − (1 − α)ⁿ after n values", () => {
    const shown = runDevice({ ...plain, factor: 0.1 }, Float64Array.from([0, 1, 1, 1]));
    expect(shown.smoothed_L[3]).toBeCloseTo(10 * (1 - 0.9 ** 3), 12);
  });

  it("play stands one half-width high on a falling level; jump moves onto the reading", () => {
    const falling = Float64Array.from({ length: 50 }, (_, i) => 5 - 0.05 * i);
    const play = runDevice({ ...plain, deadband_L: 2 }, falling);
    expect(play.dragged_L[49]! - play.smoothed_L[49]!).toBeCloseTo(2, 9);
    const jump = runDevice({ ...plain, deadband_L: 2, deadbandKind: "jump" }, falling);
    for (let i = 0; i < 50; i++) expect(Math.abs(jump.dragged_L[i]! - jump.smoothed_L[i]!)).toBeLessThan(2);
  });

  it("a reading outside the fault limits leaves the last good one standing", () => {
    const shown = runDevice(plain, Float64Array.from([3, 3, 99, Number.NaN, 3]));
    expect([...shown.shown_L]).toEqual([30, 30, 30, 30, 30]);
  });
});
