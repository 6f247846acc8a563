/** Low fuel: the warning point as a stack of what it keeps back, drawn as dimensions along the litres left. */

import type { Figure, Mark } from "../../figure/figure";
import { inLitres, type VolumeWords } from "../../quantity";
import { saidIn } from "../../said";
import type { LowFuel } from "../low-fuel";
import { volumeSetText, volumeText } from "../words/volume";

/** What is kept over the reserve, and why; without a reserve the sum alone. */
function findingOf(parts: LowFuel["parts"], volume: VolumeWords): string {
  const sum = (list: LowFuel["parts"]) => list.reduce((all, p) => all + p.value_L, 0);
  const reserve_L = sum(parts.filter((p) => p.part === "reserve"));
  const rest = `${volumeText(sum(parts) - reserve_L, volume)} is kept back for what the display does not show`;
  return reserve_L > 0 ? `Over the reserve of ${volumeSetText(reserve_L, volume)}, ${rest}` : rest;
}

/** Null when no part of the warning point is known. */
export function lowFuelFigure(low: LowFuel, volume: VolumeWords = inLitres): Figure | null {
  const parts = low.parts.filter((p) => p.value_L > 0);
  if (parts.length === 0) return null;
  let from = 0;
  const marks: Mark[] = parts.map((p, i) => {
    const mark: Mark = {
      kind: "gap-x",
      y: parts.length - i,
      from,
      to: from + p.value_L,
      text: `${p.part}, ${p.part === "reserve" ? volumeSetText(p.value_L, volume) : volumeText(p.value_L, volume)}`,
    };
    from += p.value_L;
    return mark;
  });
  // What is typed goes in whole steps of the display: what that adds is drawn too, so that no gap is left unexplained.
  const rounding_L = low.warnAtUsable_L - from;
  if (!low.overridden && rounding_L > 0.005)
    marks.push({
      kind: "gap-x",
      y: 0,
      from,
      to: low.warnAtUsable_L,
      text: `up to the next step of the display, ${volumeText(rounding_L, volume)}`,
    });
  marks.push({
    kind: "vertical",
    x: low.warnAtUsable_L,
    text: `warns at ${volumeSetText(low.warnAtUsable_L, volume)}`,
    role: "limit",
  });
  if (low.clearAtUsable_L !== null)
    marks.push({
      kind: "vertical",
      x: low.clearAtUsable_L,
      text: `clears at ${volumeSetText(low.clearAtUsable_L, volume)}`,
      role: "compare",
    });
  return {
    id: "low-fuel",
    finding: findingOf(parts, volume),
    x: {
      label: "usable volume left",
      unit: "L",
      scale: "linear",
      from: 0,
      // Room beyond the last upright for its words.
      to: 1.3 * Math.max(from, low.warnAtUsable_L, low.clearAtUsable_L ?? 0),
    },
    panels: [
      {
        y: { label: "", unit: "", scale: "linear", from: -0.6, to: parts.length + 1.4 },
        series: [],
        marks,
        share: 1,
      },
    ],
    key: [
      { role: "limit", text: "the light comes on" },
      ...(low.clearAtUsable_L !== null ? [{ role: "compare" as const, text: "the light goes out" }] : []),
    ],
    table: {
      columns: ["part", "volume, L", "why"],
      rows: low.parts.map((p) => [p.part, p.value_L, saidIn(p.why, volume)]),
    },
  };
}
