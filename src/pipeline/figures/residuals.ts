/** What is left over, whitened (each in its own standard error, shared pours taken out): by order, by volume, against a bell curve. */
import type { Figure, Mark, PointSeries } from "../../figure/figure";
import { normalQuantile } from "../../math/distributions";
import type { Curve } from "../curve-types";

/** Under so many steps no plot tells anything. Named default, no source. */
const fewest = 6;

/** Whether there is anything to draw; cheaper than to draw it. */
export const hasResidualFigures = (curve: Curve): boolean => curve.points.length >= fewest;

/** Empty under six steps. */
export function residualFigures(curve: Curve): Figure[] {
  const n = curve.points.length;
  if (!hasResidualFigures(curve)) return [];
  const means = (name: string) => curve.tests.find((t) => t.name === name)?.means ?? "";
  const whitened = curve.points.map((p) => p.whitened);
  const sorted = [...whitened].sort((a, b) => a - b);
  const scores = sorted.map((_, i) => normalQuantile((i + 1 - 0.375) / (n + 0.25)));
  const reach = Math.max(2.5, ...whitened.map((w) => Math.abs(w) * 1.05));
  const limits: Mark[] = [1.96, -1.96].map((y) => ({
    kind: "horizontal",
    y,
    text: y > 0 ? "1.96 standard errors" : "",
    role: "limit",
  }));
  const zero: Mark = { kind: "horizontal", y: 0, text: "", role: "floor" };
  const y = { label: "left over, in its own standard error", unit: "", scale: "linear" as const };
  const points = (x: number[], values: number[]): PointSeries => ({
    kind: "points",
    role: "accepted",
    name: "left over",
    x,
    y: values,
  });
  const one = (id: string, finding: string, x: Figure["x"], series: Figure["panels"][0]["series"], marks: Mark[]) => ({
    id,
    finding,
    x,
    panels: [{ y: { ...y, from: -reach, to: reach }, series, marks, share: 1 }],
    key: [{ role: "accepted" as const, text: "one step" }],
    table: {
      columns: [x.label, y.label],
      rows: series[0]!.kind === "points" ? series[0]!.x.map((v, i) => [v, (series[0] as PointSeries).y[i]!]) : [],
    },
  });
  const axis = (label: string, unit = ""): Figure["x"] => ({ label, unit, scale: "linear", from: null, to: null });
  const order = curve.points.map((_, i) => i);
  return [
    one(
      "residuals-order",
      `In the order of pouring: ${means("Durbin-Watson")}`,
      axis("order of pouring"),
      [points(order, whitened)],
      [zero, ...limits],
    ),
    one(
      "residuals-volume",
      `Against the volume: ${means("spread against level")}`,
      axis("volume", "L"),
      [
        points(
          curve.points.map((p) => p.fitted_L),
          whitened,
        ),
      ],
      [zero, ...limits],
    ),
    one(
      "residuals-normal",
      `Against a bell curve: ${means("normality")}`,
      axis("as a bell curve has it"),
      [
        points(scores, sorted),
        {
          kind: "line",
          role: "compare",
          name: "normal",
          x: [scores[0]!, scores[n - 1]!],
          y: [scores[0]!, scores[n - 1]!],
          label: "normal",
        },
      ],
      [],
    ),
  ];
}
