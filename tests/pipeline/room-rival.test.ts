/** A second room with a step on its wall against Gaussian algebra done the long way: two gaps, seen with errors of their own. */
import { describe, expect, test } from "vitest";
import { createRandom } from "../../src/math/random";
import { roomRivals } from "../../src/pipeline/room-rival";
import { onWall, type RunChain } from "../../src/pipeline/run-chain";
import type { Possible } from "../../src/pipeline/suspect-explanations";

const member = (what: Possible["what"], at: number, past?: number): Possible => ({
  what,
  at,
  ...(past === undefined ? {} : { past }),
  amountName: "any",
  mean: 0,
  standard: 1,
  logPrior: Math.log(0.02),
});
const run = { x: [0, 0.1, 0.2, 0.32, 0.4] } as unknown as RunChain;
const pours = [member("pour", 2), member("pour", 3)];
/** Information about the two gaps: the inverse of their covariance. */
const [sa, sb, r] = [0.02, 0.03, -0.4];
const det = sa * sa * sb * sb * (1 - r * r);
const information = Float64Array.from([(sb * sb) / det, (-r * sa * sb) / det, (-r * sa * sb) / det, (sa * sa) / det]);

describe("a room with a step on its wall", () => {
  test("lies as far from a fault as the covariance of both says, and noise moves that by as much as it does in draws", () => {
    const [rival] = roomRivals(run, [member("shelf", 2, 3)], pours, information, 0);
    const [g, h] = [0.1, 0.12];
    const [va, vb, c] = [sa ** 2 + (onWall.spread * g) ** 2, sb ** 2 + (onWall.spread * h) ** 2, r * sa * sb];
    const square = (u: number, v: number) => (vb * u * u - 2 * c * u * v + va * v * v) / (va * vb - c * c);
    const random = createRandom(3);
    for (const size of [0.02, 0.05, 0.08]) {
      const [u, v] = [size - onWall.share * g, -onWall.share * h];
      const { apart, noise } = rival!.seen(size);
      expect(apart).toBeCloseTo(Math.sqrt(square(u, v)), 9);
      let sum = 0;
      let squares = 0;
      const draws = 20_000;
      for (let i = 0; i < draws; i++) {
        const [a, b] = [random.normal(), random.normal()];
        // Small noise, so that the distance moves in proportion to it.
        const e = 0.02;
        const d = Math.sqrt(square(u + e * sa * a, v + e * sb * (r * a + Math.sqrt(1 - r * r) * b))) / e;
        sum += d - apart / e;
        squares += (d - apart / e) ** 2;
      }
      expect(Math.sqrt(squares / draws - (sum / draws) ** 2)).toBeCloseTo(noise, 1);
    }
    // Placing it costs as much as the readings narrow the room's own spread.
    const narrowed = (va * vb - c * c) / det;
    expect(rival!.log).toBeCloseTo(Math.log(0.02) - 0.5 * Math.log(narrowed), 9);
  });

  test("is nearest a fault of about half a pour, and none where the room takes no part of that pour", () => {
    const apart = (size: number) =>
      roomRivals(run, [member("shelf", 2, 3)], pours, information, 0)[0]!.seen(size).apart;
    expect(apart(0.05)).toBeLessThan(apart(0));
    expect(apart(0.05)).toBeLessThan(apart(0.1));
    expect(roomRivals(run, [member("shelf", 3, 4)], pours, information, 0)).toEqual([]);
  });
});
