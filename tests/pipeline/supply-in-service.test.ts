/** A supply logged on the road counts in the service day where it strays more than is stated. */
import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { dividerVolts } from "../../src/math/divider";
import { createRandom } from "../../src/math/random";
import { noChoices } from "../../src/pipeline/choices";
import { createPipeline, type Sources } from "../../src/pipeline/index";
import type { JobInput } from "../../src/pipeline/job";
import { sheet, sourceFile } from "./example-run";

const circuit = { kind: "pull-up" as const, pullUpOhms: 240, supplyVolts: 5, ratiometric: false };
const fill = sheet(
  "volume_L,sender_V",
  Array.from({ length: 13 }, (_, k) => [5 * k, Number(dividerVolts(33 + 3.45 * 5 * k, 240, 5, 0).toFixed(4))]),
);
/** Half of the rows so much over the stated supply, half so much under it; one row while the engine is cranked. */
const drive = (share: number | null) => {
  const random = createRandom(3);
  const rows = Array.from({ length: 400 }, (_, i) => {
    const supply = i === 200 ? 2 : 5 * (1 + (i % 2 === 0 ? 1 : -1) * (share ?? 0));
    const reading = dividerVolts(140 + random.normal(), 240, supply, 0);
    return share === null ? `${i / 10},${reading.toFixed(4)}` : `${i / 10},${reading.toFixed(4)},${supply.toFixed(4)}`;
  });
  const header = share === null ? "time_s,sender_V" : "time_s,sender_V,supply_V";
  return sourceFile("drive.csv", "drive", new TextEncoder().encode(`${header}\n${rows.join("\n")}\n`));
};
const sourcesOf = (share: number | null | "no drive", more: JobInput["circuit"] = {}): Sources => ({
  job: { tank: { capacity_L: 60 }, fill: { startedFrom: "drained" }, circuit: { ...circuit, ...more } },
  files: { fills: [fill], drives: share === "no drive" ? [] : [drive(share)] },
  readings: {},
  choices: noChoices,
});
function told(share: number | null | "no drive", more: JobInput["circuit"] = {}) {
  const { stages } = createPipeline(sourcesOf(share, more));
  const curve = valueIn(stages.curve.read())!;
  const answer = stages.circuit.read();
  const g = curve.grid[curve.grid.length >> 1]!;
  return {
    part: curve.budget.find((b) => b.part === "supply of the sender")!,
    half_L: (g.serviceUpper_L - g.serviceLower_L) / 2,
    says: answer.state === "ready" ? (answer.cautions.find((c) => c.code === "circuit/supply-seen") ?? null) : null,
  };
}

describe("a supply logged on the road", () => {
  const plain = told("no drive");

  test("that strays more than the default counts as its root mean square, widens the service band and is said", () => {
    const seen = told(0.02);
    // The default is ± 0.7 % over √3.
    expect(seen.part.standard_L / plain.part.standard_L).toBeCloseTo(0.02 / (0.007 / Math.sqrt(3)), 6);
    expect(seen.part.assumed).toBe(false);
    expect(seen.half_L).toBeGreaterThan(1.1 * plain.half_L);
    expect(seen.says!.weight).toBe("doubtful");
    expect(seen.says!.says).toMatch(/by 2\.0\s% .* more than the assumed ±\s0\.7\s% .*: what was logged counts/u);
    expect(seen.part.why).toContain("drive.csv");
  });

  test("that strays more than what is stated counts too", () => {
    expect(told(0.02, { supplyLimit: 0.01 }).part.standard_L).toBeCloseTo(told(0.02).part.standard_L, 9);
  });

  test("that strays less never narrows what is stated or assumed: one drive is one day", () => {
    for (const more of [{}, { supplyLimit: 0.03 }]) {
      const seen = told(0.002, more);
      expect(seen.part.standard_L).toBeCloseTo(told("no drive", more).part.standard_L, 9);
      expect(seen.says).toMatchObject({ weight: "note", says: expect.stringContaining("goes on counting") });
    }
  });

  test("is nothing where the converter follows it, or where it is another supply", () => {
    expect(told(0.02, { ratiometric: true }).says).toBeNull();
    expect(told(0.02, { supplyVolts: 12 }).says).toBeNull();
  });

  test("a drive that logs no supply leaves the very curve", () => {
    const first = sourcesOf("no drive");
    const pipeline = createPipeline(first);
    const before = pipeline.stages.curve.read();
    pipeline.set({ ...first, files: { ...first.files, drives: [drive(null)] } });
    expect(pipeline.stages.curve.read()).toBe(before);
  });
});
