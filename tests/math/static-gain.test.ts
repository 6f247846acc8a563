/** Static gain on made records: known gain, known lag, known noise. */
import { describe, expect, test } from "vitest";
import { lowPass, smoothingFactor } from "../../src/math/filter";
import { createRandom, type Random } from "../../src/math/random";
import { createStaticGains } from "../../src/math/static-gain";

const interval_s = 0.5;
const n = 20 * 120;
const all = new Uint8Array(n).fill(1);
const minutes = Array.from({ length: 20 }, (_, k): [number, number] => [120 * k, 120 * (k + 1)]);

/** What wanders, alike over some seconds: standard deviation 1. */
function wander(random: Random, alike_s: number): Float64Array {
  const keep = Math.exp(-interval_s / alike_s);
  let x = random.normal();
  return Float64Array.from({ length: n }, () => {
    x = keep * x + Math.sqrt(1 - keep * keep) * random.normal();
    return x;
  });
}

/** 30 along and −12 across, each behind lags of these time constants one after the other, and noise alike over four seconds. */
function record(seed: number, lags_s: number[], noise: number) {
  const random = createRandom(seed);
  const along = wander(random, 5).map((v) => 0.1 * v);
  const own = wander(random, 3);
  // Hills lean the vehicle both ways at once.
  const across = own.map((v, i) => 0.08 * v + 0.5 * along[i]!);
  const disturbed = wander(random, 4);
  const behind = lags_s.reduce<Float64Array>(
    (x, lag_s) => lowPass(x, smoothingFactor(lag_s, interval_s)),
    along.map((v, i) => 30 * v - 12 * across[i]!),
  );
  return { channels: [along, across], output: behind.map((v, i) => 7 + 0.002 * i + v + noise * disturbed[i]!) };
}

describe("gain of what lasts", () => {
  test.each([[[]], [[3]], [[10]], [[4, 6]]])(
    "behind lags of %j s it is told as it was put in, on both channels at once",
    (lags_s) => {
      const { channels, output } = record(1, lags_s, 0.02);
      const found = createStaticGains(channels, all, minutes, interval_s)!(output);
      expect(Math.abs(found.gains[0]!.gain / 30 - 1)).toBeLessThan(0.03);
      expect(Math.abs(found.gains[1]!.gain / -12 - 1)).toBeLessThan(0.05);
    },
  );

  test("a plain slope on what stands there now is far too small for a slow output: what this is for", () => {
    const { channels, output } = record(1, [10], 0.02);
    const [x] = channels as [Float64Array];
    const mean = (v: Float64Array) => v.reduce((s, u) => s + u, 0) / n;
    const xy = x.reduce((s, v, i) => s + (v - mean(x)) * (output[i]! - mean(output)), 0);
    const xx = x.reduce((s, v) => s + (v - mean(x)) ** 2, 0);
    expect(xy / xx).toBeLessThan(0.6 * 30);
    expect(createStaticGains(channels, all, minutes, interval_s)!(output).ownLag_s).toBeGreaterThanOrEqual(5);
  });

  test("the interval holds it in 95 of 100 records whose noise is correlated, within what 100 gains can show", () => {
    let held = 0;
    for (let seed = 1; seed <= 50; seed++) {
      const { channels, output } = record(seed, [], 1);
      const { gains } = createStaticGains(channels, all, minutes, interval_s)!(output);
      [30, -12].forEach((truth, c) => {
        if (Math.abs(gains[c]!.gain - truth) <= 1.96 * gains[c]!.standard) held++;
      });
    }
    // Binomial, 100 of 95 %: 99.9 % of trials lie from 87 up.
    expect(held).toBeGreaterThanOrEqual(87);
    expect(held).toBeLessThan(100);
  });

  test("the influence is that of each sample of the output: put on one, the gain moves by so much", () => {
    const { channels, output } = record(3, [], 0.5);
    const before = createStaticGains(channels, all, minutes, interval_s)!(output);
    const bent = output.slice();
    bent[777]! += 0.25;
    const after = createStaticGains(channels, all, minutes, interval_s)!(bent);
    expect(after.gains[0]!.gain - before.gains[0]!.gain).toBeCloseTo(0.25 * before.gains[0]!.influence[777]!, 9);
  });

  test("samples that do not count and pieces left out change nothing", () => {
    const { channels, output } = record(4, [], 0.3);
    const counts = all.slice();
    for (let i = 500; i < 520; i++) counts[i] = 0;
    const pieces = minutes.filter((_, k) => k !== 9);
    const spoilt = output.slice();
    // Far enough behind what counts again for the smoothing to have forgotten it.
    for (let i = 1085; i < 1120; i++) spoilt[i] = 900;
    const clean = createStaticGains(channels, counts, pieces, interval_s)!(output);
    const found = createStaticGains(channels, counts, pieces, interval_s)!(spoilt);
    expect(found.gains[0]!.gain / clean.gains[0]!.gain).toBeCloseTo(1, 1);
  });

  test("two channels that are one, or one that stands still, cannot be told", () => {
    const { channels } = record(5, [], 0.3);
    const [along] = channels as [Float64Array];
    expect(createStaticGains([along, along.slice()], all, minutes, interval_s)).toBeNull();
    expect(createStaticGains([along, new Float64Array(n)], all, minutes, interval_s)).toBeNull();
  });
});
