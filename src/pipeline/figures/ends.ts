/** Ends: the curve near each end, with the reading at which empty and full are told. */
import type { Figure } from "../../figure/figure";
import { inLitres, type VolumeWords } from "../../quantity";
import type { Curve } from "../curve-types";
import type { Ends } from "../ends";
import { unitSign } from "../words/quantity";
import { volumeText } from "../words/volume";

/** Null for a curve without points. */
export function endsFigure(ends: Ends, curve: Curve, volume: VolumeWords = inLitres): Figure | null {
  if (curve.grid.length === 0) return null;
  const sign = unitSign(curve.readingUnit);
  const x = curve.grid.map((g) => g.reading);
  const y = curve.grid.map((g) => g.volume_L);
  return {
    id: "ends",
    finding:
      ends.empty.hidden_L === 0 && ends.full.hidden_L === 0
        ? "Nothing stays hidden at either end"
        : `${volumeText(ends.empty.hidden_L, volume)} stays hidden at the empty end and ${volumeText(ends.full.hidden_L, volume)} at the full end`,
    x: { label: "reading", unit: sign, scale: "linear", from: null, to: null },
    panels: [
      {
        y: { label: "volume", unit: "L", scale: "linear", from: null, to: null },
        series: [{ kind: "line", role: "curve", name: "curve", x, y, label: null }],
        marks: [
          { kind: "vertical", x: ends.empty.reading, text: "empty is told here", role: "limit" },
          { kind: "vertical", x: ends.full.reading, text: "full is told here", role: "limit" },
        ],
        share: 1,
      },
    ],
    key: [
      { role: "curve", text: "volume that a reading means" },
      { role: "limit", text: "ends as told to the device" },
    ],
    table: {
      columns: ["end", `reading, ${sign}`, `margin, ${sign}`, "hidden, L", "flickers an hour"],
      rows: (["empty", "full"] as const).map((end) => [
        end,
        ends[end].reading,
        ends[end].margin,
        ends[end].hidden_L,
        ends[end].flickersPerHour,
      ]),
    },
  };
}
