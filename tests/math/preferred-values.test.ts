import { expect, test } from "vitest";
import { E24, E96, nearestPreferred, preferredBetween } from "../../src/math/preferred-values";

test("E24 has 24 values, of which eight are not the rounded powers (IEC 60063:2015)", () => {
  const rounded = Array.from({ length: 24 }, (_, k) => Math.round(10 * 10 ** (k / 24)) / 10);
  expect(E24).toHaveLength(24);
  expect(E24.filter((v, k) => v !== rounded[k])).toEqual([2.7, 3, 3.3, 3.6, 3.9, 4.3, 4.7, 8.2]);
});
test("E96 begins 1.00, 1.02, 1.05 and ends 9.53, 9.76 (IEC 60063:2015)", () => {
  expect(E96).toHaveLength(96);
  expect([...E96.slice(0, 3), ...E96.slice(-2)]).toEqual([1, 1.02, 1.05, 9.53, 9.76]);
  expect(E96[26]).toBe(1.87);
});
test("preferred values between 180 and 300 Ω are 180, 200, 220, 240, 270, 300", () => {
  expect(preferredBetween(180, 300, "E24")).toEqual([180, 200, 220, 240, 270, 300]);
});
test("the E24 value nearest to 449 Ω is 430, nearer by ratio than 470", () => {
  expect(nearestPreferred(449, "E24")).toBe(430);
});
test("preferredBetween refuses a range that does not rise, and names it", () => {
  expect(() => preferredBetween(10, 5, "E24")).toThrow("preferredBetween: needs 0 < low <= high, got 10 and 5");
});
