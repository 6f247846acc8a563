/** Table: how far its straight pieces stray from the curve, and how the error falls with the number of rows. */
import type { Figure, Mark } from "../../figure/figure";
import { inLitres, type VolumeWords, volumeUnitSigns } from "../../quantity";
import { volumeAt } from "../curve-lookup";
import type { Curve } from "../curve-types";
import { readingSigns } from "../found-table";
import type { Table } from "../table";
import { unitSign } from "../words/quantity";
import { volumeText } from "../words/volume";

export function tableFigure(table: Table, curve: Curve, volume: VolumeWords = inLitres): Figure {
  const rows = [...table.rows].sort((a, b) => a.reading - b.reading);
  const low = rows[0]!.reading;
  const high = rows[rows.length - 1]!.reading;
  const x = Array.from({ length: 161 }, (_, i) => low + ((high - low) * i) / 160);
  const at = (r: number) => {
    let k = 0;
    while (k < rows.length - 2 && rows[k + 1]!.reading < r) k++;
    const a = rows[k]!;
    const b = rows[k + 1]!;
    return a.volume_L + ((r - a.reading) / (b.reading - a.reading)) * (b.volume_L - a.volume_L);
  };
  const u = unitSign(curve.readingUnit);
  // An end row says what the end shows, moved in to where it is told: there table and curve part on purpose.
  const full_L = Math.max(...rows.map((r) => r.volume_L));
  const ends = [rows[0]!, rows[rows.length - 1]!].flatMap((r): Mark[] => {
    const off = r.volume_L - volumeAt(curve, r.reading);
    return Math.abs(off) > 1.2 * table.error_L
      ? [
          {
            kind: "gap",
            x: r.reading,
            from: 0,
            to: off,
            // Its litres stand in the leaf of the ends; here the row's rounding is in them too.
            text: `${r.volume_L === full_L ? "full" : "empty"} is moved in`,
          },
        ]
      : [];
  });
  return {
    id: "table",
    finding: `Between its rows the table strays at most ${volumeText(table.error_L, volume)} from the curve${ends.length > 0 ? ", except where an end is moved in on purpose" : ""}`,
    x: { label: "reading", unit: u, scale: "linear", from: null, to: null },
    panels: [
      {
        y: { label: "table less curve", unit: "L", scale: "linear", from: null, to: null },
        series: [
          {
            kind: "line",
            role: "curve",
            name: "table less curve",
            x,
            y: x.map((r) => at(r) - volumeAt(curve, r)),
            label: null,
          },
          {
            kind: "points",
            role: "plain",
            name: "rows",
            x: rows.map((r) => r.reading),
            y: rows.map((r) => r.volume_L - volumeAt(curve, r.reading)),
          },
        ],
        marks: ends,
        share: 1,
      },
    ],
    key: [
      { role: "curve", text: "table less curve" },
      { role: "plain", text: "rows" },
    ],
    table: {
      // In the device's own units and digits, whatever the job reads volumes in.
      columns: [
        "row",
        `reading in ${readingSigns[table.readingUnit]}, as typed`,
        `${table.base === "usable" ? "usable" : "volume"} in ${volumeUnitSigns[table.volumeUnit]}, as typed`,
      ],
      rows: table.rows.map((r, i) => [i + 1, r.typedReading, r.typedVolume]),
    },
  };
}

/** Error against the number of rows. */
export function rowsFigure(table: Table): Figure {
  return {
    id: "rows",
    finding: "More rows, less error, until the digits of the device set the limit",
    x: { label: "rows", unit: "", scale: "linear", from: null, to: null },
    panels: [
      {
        y: { label: "worst error", unit: "L", scale: "log", from: null, to: null },
        series: [
          {
            kind: "line",
            role: "curve",
            name: "worst error",
            x: table.byPoints.map((b) => b.points),
            y: table.byPoints.map((b) => Math.max(1e-3, b.error_L)),
            label: null,
          },
          ...(table.overridden
            ? [
                {
                  kind: "points" as const,
                  role: "plain" as const,
                  name: "recommended",
                  x: [table.recommended.points],
                  y: [Math.max(1e-3, table.recommended.error_L)],
                  labels: ["recommended"],
                },
              ]
            : []),
          {
            kind: "points",
            role: "chosen",
            name: "chosen",
            x: [table.rows.length],
            y: [Math.max(1e-3, table.error_L)],
            labels: [table.overridden ? "yours" : "recommended"],
          },
        ],
        marks: [],
        share: 1,
      },
    ],
    // The line is the best that so many rows can do; the tick is what is typed, rounded.
    key: [
      { role: "curve", text: "before rounding to the device’s digits" },
      { role: "chosen", text: `${table.overridden ? "your choice" : "recommended"}, as typed` },
    ],
    table: {
      columns: ["rows", "worst error before rounding, L"],
      rows: table.byPoints.map((b) => [b.points, b.error_L]),
    },
  };
}
