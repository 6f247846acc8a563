import fc from "fast-check";
import { expect, test } from "vitest";
import { matchGauge } from "../../src/pipeline/gauge-match";

test("a sender of 0 to 300 Ω on a gauge of 20 to 200 Ω takes 450 Ω across and 20 Ω in series, middle 12.5 % off", () => {
  const match = matchGauge(0, 300, 20, 200);
  expect(match.parallelOhms).toBeCloseTo(450, 9);
  expect(match.seriesOhms).toBeCloseTo(20, 9);
  expect(match.middleOff_fraction).toBeCloseTo(0.125, 9);
});
test("a sender that runs the other way round is called reversed", () => {
  expect(matchGauge(240, 33, 10, 180)).toMatchObject({ fits: false, reversed: true, seriesOhms: null });
});
test("the gauge's own sender fits as it is", () => {
  expect(matchGauge(10, 180, 10, 180)).toMatchObject({ fits: true, seriesOhms: null });
});
test("less travel than the gauge wants cannot be mended by resistors", () => {
  expect(matchGauge(10, 90, 0, 300)).toMatchObject({ fits: false, reversed: false, parallelOhms: null });
});
test("whatever is offered brings both ends onto the gauge's", () => {
  const ohms = fc.double({ min: 0, max: 400, noNaN: true });
  fc.assert(
    fc.property(ohms, ohms, ohms, ohms, (empty, full, gaugeEmpty, gaugeFull) => {
      fc.pre(Math.abs(full - empty) > 5 && Math.abs(gaugeFull - gaugeEmpty) > 5);
      const match = matchGauge(empty, full, gaugeEmpty, gaugeFull);
      if (match.seriesOhms === null) return;
      const p = match.parallelOhms;
      const at = (r: number) => match.seriesOhms! + (p === null ? r : (r * p) / (r + p));
      const span = Math.abs(gaugeFull - gaugeEmpty);
      expect(Math.abs(at(full) - gaugeFull)).toBeLessThan(0.021 * span);
      expect(Math.abs(at(empty) - gaugeEmpty)).toBeLessThan(0.021 * span);
    }),
  );
});
