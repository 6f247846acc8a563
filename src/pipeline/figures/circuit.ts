/** Circuit: volts over the sender's travel, bent by the divider, beside the straight line through both ends. */
import type { Figure } from "../../figure/figure";
import { withUnit } from "../../format";
import { inLitres, type VolumeWords } from "../../quantity";
import type { Circuit } from "../circuit";
import { volumeText } from "../words/volume";
import { needleFigure, pullUpFigure } from "./circuit-trade";

/** All figures of the leaf that apply, in reading order. */
export const circuitFigures = (circuit: Circuit, volume: VolumeWords = inLitres): Figure[] =>
  [circuitFigure(circuit, volume), pullUpFigure(circuit), needleFigure(circuit)].filter((f) => f !== null);

/** Null where no pull-up is stated: then nothing is known of the travel. */
function circuitFigure(circuit: Circuit, volume: VolumeWords): Figure | null {
  const { travel } = circuit;
  if (!travel || travel.fraction.length < 2) return null;
  const percent = travel.fraction.map((f) => 100 * f);
  const first = travel.volts[0]!;
  const last = travel.volts.at(-1)!;
  const x0 = percent[0]!;
  const x1 = percent.at(-1)!;
  const straight = percent.map((p) => first + ((last - first) * (p - x0)) / (x1 - x0 || 1));
  const gaps = travel.volts.map((v, i) => Math.abs(v - straight[i]!));
  const worst = gaps.indexOf(Math.max(...gaps));
  const bent = gaps[worst]! > 0.005 * Math.abs(last - first);
  return {
    id: "circuit",
    finding: bent
      ? "The divider bends what the sender shows away from a straight line"
      : "The divider shows the travel as a straight line",
    x: { label: "travel, empty to full", unit: "%", scale: "linear", from: 0, to: 100 },
    panels: [
      {
        y: { label: "volts at the input", unit: "", scale: "linear", from: null, to: null },
        series: [
          {
            kind: "line",
            role: "curve",
            name: "through the divider",
            x: percent,
            y: travel.volts,
            label: "through the divider",
          },
          { kind: "line", role: "compare", name: "two points", x: [x0, x1], y: [first, last], label: "two points" },
        ],
        marks: bent
          ? [
              {
                kind: "gap",
                x: percent[worst]!,
                from: straight[worst]!,
                to: travel.volts[worst]!,
                text: `${withUnit(gaps[worst]!, "V", 2)}${circuit.twoPointBend_L !== null ? `, worth ${volumeText(circuit.twoPointBend_L, volume)}` : ""}`,
              },
            ]
          : [],
        share: 1,
      },
    ],
    key: [],
    table: {
      columns: ["travel, %", "volts", "straight, V"],
      rows: percent.map((p, i) => [p, travel.volts[i]!, straight[i]!]),
    },
  };
}
