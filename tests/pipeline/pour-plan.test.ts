import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { makeJob, restReading } from "../../datasets/world/job";
import { createTank } from "../../datasets/world/tank";
import { type JobInput, resolveJob } from "../../src/pipeline/job";
import { planPours, strayShare } from "../../src/pipeline/pour-plan";

const planOf = (input: JobInput) => {
  const job = resolveJob(input);
  if (job.state !== "ready") throw new Error("the job should resolve");
  return planPours(job.value);
};

describe("planPours", () => {
  test("plans nothing without a capacity", () => expect(planOf({})).toBeNull());

  test("for 60 L and ± 1.2 L: 20 pours of 3 L leave 0.3 L between steps and 0.13 L of pouring", () => {
    const plan = planOf({ tank: { capacity_L: 60 }, targets: { tolerance_L: 1.2 } })!;
    expect([plan.pours, plan.size_L, plan.enough]).toEqual([20, 3, true]);
    expect(plan.between_L).toBeCloseTo((0.1 / 20) * 60, 9);
    expect(plan.pouring_L).toBeCloseTo(0.03 * Math.sqrt(20), 9);
  });

  test("keeps the stated size of a pour and says when it is too coarse", () => {
    const plan = planOf({ tank: { capacity_L: 60 }, pour: { size_L: 20 }, targets: { tolerance_L: 1.2 } })!;
    expect([plan.pours, plan.size_L, plan.enough]).toEqual([3, 20, false]);
    expect(plan.why.join(" ")).toContain("pour less at a time");
  });

  test("a tighter tolerance never asks for fewer pours, as long as it can be met", () => {
    fc.assert(
      fc.property(
        fc.double({ min: 20, max: 200, noNaN: true }),
        fc.double({ min: 0.005, max: 0.05, noNaN: true }),
        (capacity_L, share) => {
          const of = (tolerance_L: number) => planOf({ tank: { capacity_L }, targets: { tolerance_L } })!;
          const wide = of(2 * share * capacity_L);
          const tight = of(share * capacity_L);
          if (wide.enough && tight.enough) expect(tight.pours).toBeGreaterThanOrEqual(wide.pours);
          expect(tight.size_L * tight.pours).toBeLessThanOrEqual(capacity_L * (1 + 1e-9));
        },
      ),
      { seed: 2, numRuns: 300 },
    );
  });

  test("names vapour, static charge, wiring, running dry, and local codes", () => {
    const plan = planOf({ tank: { capacity_L: 60 } })!;
    for (const word of ["vapour", "static", "wires", "dry", "local code", "licensed"])
      expect(plan.cautions.join(" ")).toContain(word);
  });

  test("simulated tanks with arm or tube stray from straight joins between n pours by at most 10 %/n between the stops in nine of ten", () => {
    const tanks = Array.from({ length: 33 }, (_, i) => makeJob(i + 1).truth)
      .filter((truth) => truth.sender.kind !== "reed-ladder")
      .map((truth) => {
        const at = restReading(truth, "fill", createTank(truth.tank));
        const top = truth.record.steps[truth.record.steps.length - 1]!.trueVolume_L;
        const volumes = Array.from({ length: 145 }, (_, i) => (i / 144) * top);
        return { capacity_L: truth.tank.capacity_L, volumes, readings: volumes.map(at) };
      });
    for (const n of [8, 12, 16]) {
      const strays = tanks.map(({ capacity_L, volumes, readings }) => {
        let squares = 0;
        let count = 0;
        for (let i = 0; i <= 144; i++) {
          // On a stop the sender sees nothing, however finely one pours.
          if (readings[i] === readings[0] || readings[i] === readings[144]) continue;
          const k = Math.min(n - 1, Math.floor((i * n) / 144));
          const [a, b] = [(k * 144) / n, ((k + 1) * 144) / n];
          const w = (readings[i]! - readings[a]!) / (readings[b]! - readings[a]!);
          squares += (volumes[a]! + w * (volumes[b]! - volumes[a]!) - volumes[i]!) ** 2;
          count++;
        }
        return Math.sqrt(squares / count) / capacity_L;
      });
      const within = strays.filter((s) => s <= strayShare / n).length / strays.length;
      expect(within, `${n} pours`).toBeGreaterThanOrEqual(0.9);
    }
  });
});
