import { expect, test } from "vitest";
import { interpolateHeld } from "../../src/math/interpolate";

test("between two points the value lies on the straight line, outside it is held", () => {
  const x = [1, 2, 4];
  const y = [10, 20, 0];
  expect([0, 1, 1.5, 2, 3, 4, 9].map((v) => interpolateHeld(x, y, v))).toEqual([10, 10, 15, 20, 10, 0, 0]);
});
test("no point at all is a caller's mistake", () => {
  expect(() => interpolateHeld([], [], 1)).toThrow("interpolateHeld: needs 1 point, got 0");
});
