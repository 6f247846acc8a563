import { describe, expect, test } from "vitest";
import { addParabola, dropCovered, emptyEnvelope } from "../../src/math/lower-envelope";
import { createRandom } from "../../src/math/random";

describe("lower envelope of parabolas", () => {
  test("names the lowest of 40 random parabolas at every place, and keeps no other after dropCovered", () => {
    const random = createRandom(5);
    for (let round = 0; round < 30; round++) {
      const all = Array.from({ length: 40 }, () => ({
        a: 0.1 + random.uniform(),
        b: 4 * random.normal(),
        c: 5 * random.uniform(),
      }));
      const e = emptyEnvelope();
      all.forEach((p, i) => {
        addParabola(e, p.a, p.b, p.c, i, 0, Number.POSITIVE_INFINITY);
      });
      dropCovered(e);
      const met = new Set<number>();
      for (let v = -30; v <= 30; v += 0.0137) {
        const values = all.map((p) => p.a * v * v + p.b * v + p.c);
        const least = values.indexOf(Math.min(...values));
        let piece = e.begins.length - 1;
        while (e.begins[piece]! > v) piece--;
        const q = e.lowest[piece]!;
        expect(e.a[q]! * v * v + e.b[q]! * v + e.c[q]!).toBeCloseTo(values[least]!, 9);
        met.add(e.fromKnot[q]!);
      }
      expect(e.size).toBeGreaterThanOrEqual(met.size);
      expect(e.size).toBeLessThanOrEqual(met.size + 3);
    }
  });
  test("a parabola that is nowhere under the cap is left out", () => {
    const e = emptyEnvelope();
    addParabola(e, 1, 0, 5, 0, 0, 4);
    expect(e.size).toBe(0);
    addParabola(e, 1, 0, 3, 0, 0, 4);
    expect(e.size).toBe(1);
    expect(e.begins.slice(1)).toEqual([-1, 1]);
  });
});
