import { describe, expect, test } from "vitest";
import { drawFigure } from "../../src/figure/svg";
import { residualFigures } from "../../src/pipeline/figures/residuals";
import { analyse, sheet } from "../pipeline/fill-world";

describe("what is left over, looked at closely", () => {
  const { curve } = analyse(sheet(3));
  const [order, volume, normal] = residualFigures(curve);

  test("holds every step once, in the order of pouring and at its volume", () => {
    expect(order!.table.rows.map((r) => r[1])).toEqual(curve.points.map((p) => p.whitened));
    expect(order!.table.rows.map((r) => r[0])).toEqual(curve.points.map((_, i) => i));
    expect(volume!.table.rows.map((r) => r[0])).toEqual(curve.points.map((p) => p.fitted_L));
  });

  test("the normal plot rises on both axes and its line is the normal law itself", () => {
    const rows = normal!.table.rows as [number, number][];
    for (let i = 1; i < rows.length; i++) {
      expect(rows[i]![0]).toBeGreaterThan(rows[i - 1]![0]);
      expect(rows[i]![1]).toBeGreaterThanOrEqual(rows[i - 1]![1]);
    }
    // Blom's places (i − 3/8)/(n + 1/4): alike on both sides.
    expect(rows[0]![0] + rows[rows.length - 1]![0]).toBeCloseTo(0, 9);
    const line = normal!.panels[0]!.series.find((s) => s.kind === "line")!;
    expect(line.x).toEqual(line.kind === "line" ? line.y : []);
  });

  test("says what its test reads, is drawn, and tells nothing of five steps", () => {
    for (const [figure, name] of [
      [order, "Durbin-Watson"],
      [volume, "spread against level"],
      [normal, "normality"],
    ] as const) {
      expect(figure!.finding).toContain(curve.tests.find((t) => t.name === name)!.means);
      expect(drawFigure(figure!, { width: 480 })).toContain("<svg");
    }
    expect(residualFigures(analyse(sheet(3, { n: 5 })).curve)).toEqual([]);
  });
});
