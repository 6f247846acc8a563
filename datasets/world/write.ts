/** Files: the runs as the technician's phone and logger would write them. */
import { LITRES_PER_USGAL } from "../../src/units";
import type { DriveRecord } from "./drive";
import type { FillRecord } from "./fill";
import type { CircuitTruth } from "./sender";

export interface VolumeStyle {
  unit: "L" | "USgal" | "kg";
  entered: "added" | "cumulative";
  density_kg_per_L: number;
  decimalComma: boolean;
}

const decimals = (circuit: CircuitTruth) => (circuit.unit === "V" ? 4 : circuit.unit === "ohm" ? 1 : 0);

function writer(decimalComma: boolean) {
  const delimiter = decimalComma ? ";" : ",";
  return {
    number: (x: number, digits: number) => (decimalComma ? x.toFixed(digits).replace(".", ",") : x.toFixed(digits)),
    line: (cells: string[]) => cells.join(delimiter),
  };
}

/** One row a step. Volumes are rounded where the unit is not litres: 0.001 gallons or kilograms, as on a scale. */
export function fillCsv(record: FillRecord, circuit: CircuitTruth, style: VolumeStyle, readingStep: number): string {
  const w = writer(style.decimalComma);
  const factor = style.unit === "L" ? 1 : style.unit === "USgal" ? 1 / LITRES_PER_USGAL : style.density_kg_per_L;
  const digits = style.unit === "L" ? 2 : 3;
  const places = Math.max(0, Math.round(-Math.log10(readingStep)));
  const header = `${style.entered === "added" ? "added" : "total"}_${style.unit}`;
  const rows = record.steps.map((s) =>
    w.line([
      w.number((style.entered === "added" ? s.added_L : s.volume_L) * factor, digits),
      w.number(s.reading, places),
    ]),
  );
  return `${[w.line([header, `sender_${circuit.unit}`]), ...rows].join("\n")}\n`;
}

/** A fill as a logger saw it; the sheet's running total stands beside each row. */
export function traceCsv(
  trace: NonNullable<FillRecord["trace"]>,
  circuit: CircuitTruth,
  style: Pick<VolumeStyle, "decimalComma">,
): string {
  const w = writer(style.decimalComma);
  const rows = Array.from(trace.time_s, (t, i) =>
    w.line([w.number(t, 1), w.number(trace.reading[i]!, decimals(circuit)), w.number(trace.poured_L[i]!, 2)]),
  );
  return `${[w.line(["time_s", `sender_${circuit.unit}`, "poured_L"]), ...rows].join("\n")}\n`;
}

export function driveCsv(log: DriveRecord, circuit: CircuitTruth, decimalComma: boolean): string {
  const w = writer(decimalComma);
  const rows: string[] = [w.line(["time_s", `sender_${circuit.unit}`, "along_g", "across_g", "speed_kmh"])];
  for (let i = 0; i < log.time_s.length; i++)
    rows.push(
      w.line([
        w.number(log.time_s[i]!, 2),
        w.number(log.reading[i]!, decimals(circuit)),
        w.number(log.along_g[i]!, 3),
        w.number(log.across_g[i]!, 3),
        w.number(log.speed_kmh[i]!, 1),
      ]),
    );
  return `${rows.join("\n")}\n`;
}
