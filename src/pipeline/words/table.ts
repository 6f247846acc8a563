/** What the table leaf says. */
import type { ReadingUnit } from "../job";
import type { Table, TableRow } from "../table";
import { tableBeside } from "./beside";
import type { Finding, WorkingLine } from "./finding";
import { counted, quantity } from "./quantity";

export function tableFinding(table: Table): Finding {
  return {
    question: "Which numbers go into the device?",
    sentence: [
      counted(null, table.rows.length, 0, "rows"),
      " stay within ",
      quantity("tableError_L", table.error_L, "L", 2),
      " of the curve, rounding included. With the two end rows alone it would be ",
      quantity("twoPointError_L", table.twoPoint.error_L, "L", 2),
      " off.",
    ],
    short: [`${table.rows.length} rows`],
    condition: [
      "Distance from the curve between the ends, in the device’s own digits. The ends are moved in already: type the rows as they stand.",
    ],
    caution: null,
    beside: tableBeside(table),
  };
}

export function tableWorking(table: Table, unit: ReadingUnit): WorkingLine[] {
  return [
    {
      what: "Worst and mean distance of the rows from the curve",
      formula: "least worst distance over all choices of rows, then searched on the lattice of the device’s digits",
      figures: [
        quantity("tableError_L", table.error_L, "L", 2),
        " worst, ",
        quantity("tableRms_L", table.rms_L, "L", 2),
        " root mean square",
      ],
      source: "dynamic programming; minimax",
    },
    {
      what: `Rows recommended${table.overridden ? ", and you chose another number" : ""}`,
      formula: null,
      figures: [counted("tableDetail.recommendedPoints", table.recommendedPoints, 0)],
      source:
        "fewest within a tenth of the tolerance or a quarter of the band, whichever is less (named defaults, no source)",
    },
    ...table.byPoints.map(
      (b, i): WorkingLine => ({
        what: `${b.points} rows, before rounding to the device’s digits`,
        formula: null,
        figures: [quantity(`tableDetail.byPoints.${i}.error_L`, b.error_L, "L", 2)],
        source: null,
      }),
    ),
    ...(table.asWritten
      ? [
          {
            what: "With the sheet as written",
            formula: null,
            figures: table.asWritten.rows.flatMap((r, i) => [
              quantity(`tableDetail.asWritten.rows.${i}.reading_${unit}`, r.reading, unit, 4),
              " → ",
              quantity(`tableDetail.asWritten.rows.${i}.volume_L`, r.volume_L, "L"),
              "; ",
            ]),
            source: null,
          },
        ]
      : []),
  ];
}

/** The rows side by side, in as many lines as needed, all about equally long. */
export function linesOf(rows: TableRow[], most = 8): TableRow[][] {
  const lines = Math.ceil(rows.length / most);
  const each = Math.ceil(rows.length / Math.max(1, lines));
  return Array.from({ length: lines }, (_, i) => rows.slice(i * each, (i + 1) * each));
}
