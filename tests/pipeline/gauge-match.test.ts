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
test("a resistor's watts are those of the whole supply across the network", () => {
  const match = matchGauge(0, 300, 20, 200);
  // At 0 Ω the 20 Ω in series take all 14.4 V; at 300 Ω the 450 Ω across take 180/200 of them.
  expect(match.seriesWatts).toBeCloseTo(14.4 ** 2 / 20, 9);
  // Of the 470 Ω that are fitted across: most with the sender's wire off, when all of the current goes through them.
  expect(match.parallelWatts).toBeCloseTo((14.4 * (470 / 490)) ** 2 / 470, 9);
  expect(match.says).toContain("fit 470 Ω, which takes 0.41\u00a0W at most");
  // Rounded values carry more than the exact ones where they are smaller: 6.8 for 7.05 Ω.
  expect(matchGauge(3, 110, 10, 73).seriesWatts).toBeCloseTo((14.4 ** 2 / (6.8 + (3 * 160) / 163) ** 2) * 6.8, 9);
});
test("what a preferred value or a sender within the tolerance leaves at the ends is told", () => {
  expect(matchGauge(0, 300, 20, 200).says).toContain("of the sender’s travel, 0 % empty and 102 % full");
  expect(matchGauge(10, 180, 30, 200).says).toContain("of the sender’s travel. The watts");
  expect(matchGauge(240, 33, 250, 30).says).toBe(
    "The sender fits the gauge as it is: the needle ends at most 5 % of the scale beside its marks.",
  );
  expect(matchGauge(10, 180, 10, 180).says).toBe("The sender fits the gauge as it is.");
});
test("the needle at ¼, ½ and ¾ follows from the resistors, drawn and preferred", () => {
  const { needle, needleFitted, seriesFitted, parallelFitted, says } = matchGauge(0, 300, 20, 200);
  // 75, 150 and 225 Ω beside 450 Ω: 64.29, 112.5 and 150 Ω of 180.
  expect(needle.map((n) => n.needle)).toEqual([450 / 7 / 180, 0.625, 150 / 180].map((x) => expect.closeTo(x, 9)));
  expect([seriesFitted, parallelFitted]).toEqual([20, 470]);
  expect(needleFitted[0]!.needle).toBeCloseTo(0, 12);
  expect(needleFitted[4]!.needle).toBeCloseTo((300 * 470) / 770 / 180, 9);
  expect(says).toContain("36 %, 63 % and 85 %");
});
test("a gauge that wants more ohms at both ends takes a resistor in series alone", () => {
  expect(matchGauge(10, 180, 30, 200)).toMatchObject({ parallelOhms: null, seriesOhms: 20, middleOff_fraction: 0 });
});
