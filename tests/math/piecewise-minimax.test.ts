import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  bestPlaces,
  levelOrdinates,
  type Place,
  pieceError,
  pieceValue,
  searchLattice,
} from "../../src/math/piecewise-minimax";

const sampled = (f: (x: number) => number, n = 97): Place[] =>
  Array.from({ length: n }, (_, i) => ({ x: i / (n - 1), y: f(i / (n - 1)) }));
const parabola = sampled((x) => x * x);

describe("bestPlaces", () => {
  test("cuts a parabola into equal pieces, each h²/4 off", () => {
    // On-curve chords of x² over a piece of width h are h²/4 off in its middle: a quarter for one piece, 1/64 for four.
    const found = bestPlaces(parabola, 5);
    expect(found[0]!.error).toBeCloseTo(1 / 4, 12);
    expect(found[1]!.indices.map((i) => parabola[i]!.x)).toEqual([0, 0.5, 1]);
    expect(found[3]!.indices.map((i) => parabola[i]!.x)).toEqual([0, 0.25, 0.5, 0.75, 1]);
    expect(found[3]!.error).toBeCloseTo(1 / 64, 12);
  });

  test("finds the corner of two straight pieces exactly", () => {
    const bent = sampled((x) => (x <= 0.375 ? 2 * x : 0.75 + 0.4 * (x - 0.375)));
    const found = bestPlaces(bent, 3)[1]!;
    expect(bent[found.indices[1]!]!.x).toBe(0.375);
    expect(found.error).toBeLessThan(1e-12);
  });

  test("is never worse than any choice of the same number of points", () => {
    const curve = fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 6, maxLength: 14 });
    fc.assert(
      fc.property(curve, fc.nat(), fc.nat(), (ys, a, b) => {
        const points = ys.map((y, x) => ({ x, y }));
        const inner = [1 + (a % (ys.length - 2)), 1 + (b % (ys.length - 2))].sort((p, q) => p - q);
        if (inner[0] === inner[1]) return;
        const mine = [0, ...inner, ys.length - 1].map((i) => points[i]!);
        expect(bestPlaces(points, 4)[2]!.error).toBeLessThanOrEqual(pieceError(mine, points).worst + 1e-12);
      }),
      { seed: 3, numRuns: 300 },
    );
  });
});

describe("levelOrdinates", () => {
  test("brings four pieces on a parabola under the on-curve error, towards the half that free ends would reach", () => {
    const on = bestPlaces(parabola, 9)[7]!.indices.map((i) => parabola[i]!);
    const lifted = pieceError(levelOrdinates(on, parabola), parabola).worst;
    // The two pieces at the fixed ends keep a fixed point each, so that not quite the half is reached with x as they are.
    expect(lifted).toBeLessThan(0.75 * pieceError(on, parabola).worst);
  });

  test("is never worse than what it was given, and keeps both ends and every x", () => {
    fc.assert(
      fc.property(fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 5, maxLength: 30 }), (ys) => {
        const curve = ys.map((y, x) => ({ x, y }));
        const start = bestPlaces(curve, 4)
          .at(-1)!
          .indices.map((i) => curve[i]!);
        const lifted = levelOrdinates(start, curve);
        expect(pieceError(lifted, curve).worst).toBeLessThanOrEqual(pieceError(start, curve).worst + 1e-12);
        expect(lifted.map((p) => p.x)).toEqual(start.map((p) => p.x));
        expect([lifted[0], lifted.at(-1)]).toEqual([start[0], start.at(-1)]);
      }),
      { seed: 4, numRuns: 200 },
    );
  });
});

describe("searchLattice", () => {
  test("stays on the lattice, in strict order, and never ends worse than it began", () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.4, max: 2.5, noNaN: true }),
        fc.constantFrom(0.01, 0.02, 0.05),
        fc.constantFrom(0.1, 0.5, 1),
        (power, stepX, stepY) => {
          const curve = sampled((x) => 60 * x ** power);
          const snap = (v: number, s: number) => Math.round(v / s) * s;
          const start = bestPlaces(curve, 5)
            .at(-1)!
            .indices.map((i) => ({ x: snap(curve[i]!.x, stepX), y: snap(curve[i]!.y, stepY) }))
            .filter((p, i, all) => i === 0 || (p.x > all[i - 1]!.x + stepX / 2 && p.y > all[i - 1]!.y + stepY / 2));
          const found = searchLattice(start, curve, stepX, stepY, true);
          expect(pieceError(found, curve).worst).toBeLessThanOrEqual(pieceError(start, curve).worst + 1e-12);
          for (const [i, p] of found.entries()) {
            expect(Math.abs(p.x / stepX - Math.round(p.x / stepX))).toBeLessThan(1e-6);
            expect(Math.abs(p.y / stepY - Math.round(p.y / stepY))).toBeLessThan(1e-6);
            if (i > 0) {
              expect(p.x).toBeGreaterThan(found[i - 1]!.x);
              expect(p.y).toBeGreaterThan(found[i - 1]!.y);
            }
          }
        },
      ),
      { seed: 5, numRuns: 60 },
    );
  });
});

test("pieceValue joins points by straight lines and holds the end values outside", () => {
  const points = [
    { x: 1, y: 10 },
    { x: 3, y: 20 },
  ];
  expect([0, 1, 2, 3, 9].map((x) => pieceValue(points, x))).toEqual([10, 10, 15, 20, 20]);
});
