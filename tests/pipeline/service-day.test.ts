/** Supply in the service day, against the divider with that supply put in. */
import { describe, expect, test } from "vitest";
import { dividerOhms, dividerVolts } from "../../src/math/divider";
import type { FillRuns } from "../../src/pipeline/fill-run";
import { type JobInput, resolveJob } from "../../src/pipeline/job";
import { servicePart } from "../../src/pipeline/service-day";

const [pullUp, supply, capacity] = [240, 5, 60];
const volumes = Array.from({ length: 61 }, (_, i) => i);
const ohms = volumes.map((v) => 33 + (207 * v) / capacity);
const jobOf = (circuit: JobInput["circuit"]) => {
  const answer = resolveJob({ tank: { capacity_L: capacity }, circuit });
  if (answer.state !== "ready") throw new Error("the job is not ready");
  return answer.value;
};
const runsIn = (readingUnit: "V" | "ohm" | "count") =>
  ({ readingUnit, sense: 1, runs: [], total_L: capacity }) as unknown as FillRuns;
const supplyPart = (circuit: NonNullable<JobInput["circuit"]>, unit: "V" | "ohm", readings: number[]) =>
  servicePart(
    jobOf({ kind: "pull-up", pullUpOhms: pullUp, supplyVolts: supply, ...circuit }),
    runsIn(unit),
    readings,
    volumes,
  ).parts.find((p) => p.part === "supply of the sender")!;

describe("supply on a service day", () => {
  test("is what another supply makes of the litres, in volts and in ohms, ground lifted or not", () => {
    for (const ground of [0, 0.2]) {
      const volts = ohms.map((r) => dividerVolts(r, pullUp, supply, ground));
      const circuit = { supplyLimit: 0.02, groundOffsetVolts: ground };
      const part = supplyPart(circuit, "V", volts);
      const change = 0.02 / Math.sqrt(3);
      for (const v of [10, 30, 50]) {
        const off = dividerVolts(ohms[v]!, pullUp, supply * (1 + change), ground);
        // Taken for the old supply it means these ohms, and these litres.
        const litres = ((dividerOhms(off, pullUp, supply, ground) - 33) * capacity) / 207 - v;
        expect(part.standard[v]! / litres).toBeCloseTo(1, 1);
        expect(supplyPart(circuit, "ohm", ohms).standard[v]! / litres).toBeCloseTo(1, 1);
      }
      expect(part.assumed).toBe(false);
    }
  });

  test("by hand: 136.5 Ω on 240 Ω, 2 % over √3, 60 L on 207 Ω", () => {
    // R (R + Rp)/Rp · ε = 136.5 · 376.5/240 · 0.011547 = 2.4726 Ω = 0.7167 L.
    expect(supplyPart({ supplyLimit: 0.02 }, "ohm", ohms).standard[30]!).toBeCloseTo(0.7167, 3);
  });

  test("cancels where the converter follows it; a default is named, a vehicle's own supply gets a wider one", () => {
    const volts = ohms.map((r) => dividerVolts(r, pullUp, supply));
    expect(supplyPart({ ratiometric: true }, "V", volts).standard.every((s) => s === 0)).toBe(true);
    const regulated = supplyPart({}, "V", volts);
    expect(regulated.assumed).toBe(true);
    const own = supplyPart(
      { supplyVolts: 13 },
      "V",
      ohms.map((r) => dividerVolts(r, pullUp, 13)),
    );
    expect(own.standard[30]! / regulated.standard[30]!).toBeCloseTo(0.1 / 0.007, 3);
  });
});
