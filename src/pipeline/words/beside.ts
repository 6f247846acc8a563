/** What was chosen by hand beside what is recommended: both values, and what each does, computed for both. */
import { inWords } from "../../quantity";
import type { Curve } from "../curve-types";
import type { Display } from "../display";
import type { EndMargin, Ends } from "../ends";
import type { ReadingUnit } from "../job";
import type { LowFuel } from "../low-fuel";
import type { Table } from "../table";
import type { Beside, BesideRow, Quantity } from "./finding";
import { counted, drawn, duration, quantity, rate, setting, unitSign } from "./quantity";

const row = (what: string, yours: Quantity | string, recommended: Quantity | string): BesideRow => ({
  what,
  yours: [yours],
  recommended: [recommended],
});

/** Few events an hour: two figures, but what practically never happens is not written out to its last zero. */
export const rare = (path: string, value: number, unit = ""): Quantity =>
  value === 0
    ? counted(path, value, 0, unit)
    : value < 0.005
      ? inWords(path, value, unit, `less than 0.01${unit ? `\u00a0${unit}` : ""}`)
      : value < 0.01
        ? counted(path, value, 2, unit)
        : quantity(path, value, unit, value < 10 ? 2 : 3);

export function curveBeside(curve: Curve): Beside | null {
  const r = curve.recommended;
  if (!r) return null;
  const at = "chosenCurve.recommended";
  return {
    key: "curve",
    rows: [
      row("Shape", shapeNames[curve.shape], shapeNames[r.shape]),
      row(
        "Worst step",
        quantity("chosenCurve.overall.worst_L", curve.overall.worst_L, "L", 2),
        quantity(`${at}.worst_L`, r.worst_L, "L", 2),
      ),
      row(
        "Band, ± at its widest",
        quantity("chosenCurve.overall.bandHalfWidth_L", curve.overall.bandHalfWidth_L, "L", 2),
        quantity(`${at}.bandHalfWidth_L`, r.bandHalfWidth_L, "L", 2),
      ),
    ],
    after: [
      "Both curves lie up to ",
      quantity(`${at}.apart_L`, r.apart_L, "L", 2),
      " apart, at a reading of ",
      quantity(`${at}.apartAt_${curve.readingUnit}`, r.apartAt, unitSign(curve.readingUnit)),
      ". That distance is in your band.",
    ],
  };
}

const shapeNames: Record<Curve["shape"], string> = {
  smooth: "smooth",
  piecewise: "straight pieces",
  divider: "line through the divider",
  polynomial: "one bent line",
  line: "one straight line",
};

export function displayBeside(d: Display): Beside | null {
  if (!d.overridden) return null;
  const r = d.recommended;
  const both = (
    what: string,
    field: keyof Display["recommended"],
    write: (path: string, value: number) => Quantity,
  ): BesideRow => row(what, write(`display.${field}`, d[field]), write(`display.recommended.${field}`, r[field]));
  return {
    key: "display",
    rows: [
      both("Smoothing", "timeConstant_s", (p, v) => setting(p, v, "s")),
      both("Deadband, ±", "deadband_L", (p, v) => setting(p, v, "L", 2)),
      both("Reversals a minute", "reversalsPerMinute", rate),
      both("Lag on this log", "lag_L", (p, v) => quantity(p, v, "L", 2)),
      both("Time to show a refuel", "refuel90_s", duration),
      both("Off the level, r.m.s.", "rmsError_L", (p, v) => quantity(p, v, "L", 2)),
    ],
    after: [],
  };
}

export function endsBeside(ends: Ends, unit: ReadingUnit): Beside | null {
  const sign = unitSign(unit);
  const rows = (which: "empty" | "full", e: EndMargin): BesideRow[] => {
    if (!e.overridden) return [];
    const at = `ends.${which}`;
    return [
      row(
        `Margin at ${which}`,
        quantity(`${at}.margin_${unit}`, e.margin, sign, 2),
        quantity(`${at}.recommended.margin_${unit}`, e.recommended.margin, sign, 2),
      ),
      row(
        `Hidden at ${which}`,
        quantity(`${at}.hidden_L`, e.hidden_L, "L", 2),
        quantity(`${at}.recommended.hidden_L`, e.recommended.hidden_L, "L", 2),
      ),
      // On a log that is too short neither count tells anything.
      ...(ends.tooShort
        ? []
        : [
            row(
              `Flickers an hour at ${which}`,
              rare(`${at}.flickersPerHour`, e.flickersPerHour),
              rare(`${at}.recommended.flickersPerHour`, e.recommended.flickersPerHour),
            ),
          ]),
    ];
  };
  const all = [...rows("empty", ends.empty), ...rows("full", ends.full)];
  return all.length > 0 ? { key: "ends", rows: all, after: [] } : null;
}

export function tableBeside(t: Table): Beside | null {
  if (!t.overridden) return null;
  const at = "tableDetail.recommended";
  return {
    key: "table",
    rows: [
      row("Rows", counted(null, t.rows.length, 0), counted(`${at}.points`, t.recommended.points, 0)),
      row(
        "Off the curve at worst",
        quantity("tableError_L", t.error_L, "L", 2),
        quantity(`${at}.error_L`, t.recommended.error_L, "L", 2),
      ),
      row(
        "Off the curve, r.m.s.",
        quantity("tableRms_L", t.rms_L, "L", 2),
        quantity(`${at}.rms_L`, t.recommended.rms_L, "L", 2),
      ),
    ],
    after: [],
  };
}

export function lowFuelBeside(low: LowFuel): Beside | null {
  if (!low.overridden) return null;
  const r = low.recommended;
  const at = "lowFuel.recommended";
  const rows = [
    row(
      "Comes on at, usable",
      setting("lowFuel.warnAtUsable_L", low.warnAtUsable_L, "L"),
      setting(`${at}.warnAtUsable_L`, r.warnAtUsable_L, "L"),
    ),
    row(
      "Chance of less than the reserve then",
      drawn("lowFuel.underReserveChance", low.underReserveChance, 1),
      drawn(`${at}.underReserveChance`, r.underReserveChance, 1),
    ),
  ];
  if (low.clearAtUsable_L !== null && r.clearAtUsable_L !== null)
    rows.push(
      row(
        "Goes out at, usable",
        setting("lowFuel.clearAtUsable_L", low.clearAtUsable_L, "L"),
        setting(`${at}.clearAtUsable_L`, r.clearAtUsable_L, "L"),
      ),
    );
  if (low.falseAlarmsPerHour !== null && r.falseAlarmsPerHour !== null)
    rows.push(
      row(
        "False alarms an hour",
        rare("lowFuel.falseAlarmsPerHour", low.falseAlarmsPerHour),
        rare(`${at}.falseAlarmsPerHour`, r.falseAlarmsPerHour),
      ),
    );
  return { key: "lowFuel", rows, after: [] };
}
