/** Verdict: the largest error that is likely, and its upper limit, against the tolerance. */
import type { Figure } from "../../figure/figure";
import { inLitres, type VolumeWords } from "../../quantity";
import type { Verdict } from "../verdict";
import { volumeText } from "../words/volume";

/** @param isAssumed the tolerance is nobody’s: the job states none. */
export function verdictFigure(v: Verdict, volume: VolumeWords = inLitres, isAssumed = false): Figure {
  const inside = v.largestUpper_L <= v.tolerance_L;
  return {
    id: "verdict",
    finding: inside
      ? "Even the upper limit of the largest error stays inside the tolerance"
      : "The upper limit of the largest error lies outside the tolerance",
    x: {
      label: "largest error at rest",
      unit: "L",
      scale: "linear",
      from: 0,
      to: 1.15 * Math.max(v.tolerance_L, v.largestUpper_L),
    },
    panels: [
      {
        y: { label: "", unit: "", scale: "linear", from: 0, to: 3 },
        series: [],
        marks: [
          { kind: "region", from: 0, to: v.tolerance_L, text: "" },
          {
            kind: "vertical",
            x: v.tolerance_L,
            text: `${isAssumed ? "tolerance assumed" : "your tolerance"}, ${volumeText(v.tolerance_L, volume)}`,
            role: "limit",
          },
          { kind: "gap-x", y: 2, from: 0, to: v.largest_L, text: `likely ${volumeText(v.largest_L, volume)}` },
          {
            kind: "gap-x",
            y: 1,
            from: 0,
            to: v.largestUpper_L,
            text: `at most ${volumeText(v.largestUpper_L, volume)}, 95 %`,
          },
        ],
        share: 1,
      },
    ],
    key: [],
    table: {
      columns: ["what", "volume, L"],
      rows: [
        ["largest error, median", v.largest_L],
        ["largest error, upper 95 % limit", v.largestUpper_L],
        ["tolerance", v.tolerance_L],
      ],
    },
  };
}
