/** Range left: the interval at the warning, and how much narrower each improvement would make it. */
import type { Figure } from "../../figure/figure";
import { withUnit } from "../../format";
import type { RangeLeft } from "../range-left";
import { rangeUnit } from "../words/range-left";

export function rangeLeftFigure(published: RangeLeft): Figure {
  const { unit, times } = rangeUnit(published);
  const range = {
    ...published,
    range: published.range / times,
    rangeLower: published.rangeLower / times,
    rangeUpper: published.rangeUpper / times,
    improvements: published.improvements.map((i) => ({ ...i, rangeHalfWidth: i.rangeHalfWidth / times })),
  };
  const half = (range.rangeUpper - range.rangeLower) / 2;
  const rows = [
    { what: "as it is", half },
    ...range.improvements.map((i) => ({ what: i.what, half: i.rangeHalfWidth })),
  ];
  const at = rows.map((_, i) => rows.length - i);
  return {
    id: "range-left",
    finding: `Between ${withUnit(range.rangeLower, "", 2)} and ${withUnit(range.rangeUpper, unit, 2)} ${unit === "laps" ? "are" : "is"} left when the light comes on`,
    x: { label: "range left at the warning", unit: unit, scale: "linear", from: 0, to: 1.08 * range.rangeUpper },
    panels: [
      {
        y: { label: "", unit: "", scale: "linear", from: 0.2, to: rows.length + 1 },
        series: [],
        marks: rows.flatMap((row, i) =>
          i === 0
            ? [
                {
                  kind: "gap-x" as const,
                  y: at[i]!,
                  from: range.rangeLower,
                  to: range.rangeUpper,
                  text: `as it is, ${withUnit(range.rangeLower, "", 2)} to ${withUnit(range.rangeUpper, unit, 2)}`,
                },
                { kind: "vertical" as const, x: range.range, text: "", role: "curve" as const },
              ]
            : [
                {
                  kind: "gap-x" as const,
                  y: at[i]!,
                  from: range.range - row.half,
                  to: range.range + row.half,
                  text: `${row.what}: ± ${withUnit(row.half, unit, 2)}`,
                },
              ],
        ),
        share: 1,
      },
    ],
    key: [{ role: "curve", text: "median" }],
    table: {
      columns: ["part", "standard uncertainty, L", "share of the squared uncertainty"],
      rows: range.budget.map((b) => [b.part, b.standard_L, b.share]),
    },
  };
}
