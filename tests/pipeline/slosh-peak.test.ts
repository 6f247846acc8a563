import { describe, expect, test } from "vitest";
import { findPeak } from "../../src/pipeline/slosh-peak";

/** Power of damped modes driven by white noise, over a floor: 64 s segments up to 10 Hz. */
function spectrumOf(modes: { f: number; damping: number; height: number }[], floor = 0.01) {
  const frequency_Hz = Float64Array.from({ length: 641 }, (_, k) => k / 64);
  const density = frequency_Hz.map(
    (x) =>
      floor +
      modes.reduce((sum, { f, damping, height }) => {
        const r = x / f;
        return sum + (height * 4 * damping ** 2) / ((1 - r * r) ** 2 + (2 * damping * r) ** 2);
      }, 0),
  );
  return { frequency_Hz, density, segments: 60, segment_s: 64 };
}

describe("findPeak", () => {
  test("places a single mode within 1 %", () => {
    for (const damping of [0.02, 0.05, 0.09])
      expect(
        Math.abs(findPeak(spectrumOf([{ f: 0.93, damping, height: 1 }]), 20)!.frequency_Hz / 0.93 - 1),
      ).toBeLessThan(0.01);
  });

  test("of two modes that have grown together it names the larger, and no place between them", () => {
    const two = spectrumOf([
      { f: 0.92, damping: 0.055, height: 1 },
      { f: 1.05, damping: 0.055, height: 0.75 },
    ]);
    // They have grown together: the valley between them is higher than half of the peak.
    const valley = Math.min(
      ...two.density.filter((_, k) => two.frequency_Hz[k]! > 0.92 && two.frequency_Hz[k]! < 1.05),
    );
    expect(valley).toBeGreaterThan(0.5 * Math.max(...two.density));
    expect(Math.abs(findPeak(two, 20)!.frequency_Hz / 0.92 - 1)).toBeLessThan(0.025);
  });

  test("finds none in a floor, nor in a slope down from low frequencies", () => {
    expect(findPeak(spectrumOf([]), 20)).toBeNull();
    const slope = spectrumOf([]);
    slope.density.forEach((_, k) => {
      slope.density[k] = 1 / (0.01 + slope.frequency_Hz[k]! ** 2);
    });
    expect(findPeak(slope, 20)).toBeNull();
  });
});
