/** Found table: the rows copied from the device, in its own units, as readings and litres. */
import { litresPer } from "../units";
import type { Job } from "./job";
import type { JobInput } from "./job-schema";
import { readingScale } from "./reading-scale";

/** A reading unit of the device, as it is written. */
export const readingSigns = { V: "V", mV: "mV", ohm: "Ω", count: "counts" } as const;
export const volumeSigns = { L: "L", USgal: "US gal", impgal: "imp gal", percent: "%" } as const;

/** What the device's table is written in, as far as the job says: rows whose keys name no unit are in these. */
function deviceUnits(job: Pick<JobInput, "device" | "readingUnit">) {
  return {
    reading: job.device?.tableReadingUnit ?? job.readingUnit ?? null,
    volume: job.device?.tableVolumeUnit ?? ("L" as const),
  };
}

/** The device's units as words for the page: `mV` and `%`; a reading unit that nothing states is `null`. */
export function foundUnits(job: Pick<JobInput, "device" | "readingUnit">): { reading: string | null; volume: string } {
  const { reading, volume } = deviceUnits(job);
  return { reading: reading && readingSigns[reading], volume: volumeSigns[volume] };
}

const readingKeys = { reading_V: "V", reading_mV: "mV", reading_ohm: "ohm", reading_count: "count" } as const;
const finite = (v: unknown): v is number => typeof v === "number" && Number.isFinite(v);

const scaleJob = (job: JobInput) => ({
  circuit: {
    kind: job.circuit?.kind ?? (job.circuit?.pullUpOhms ? ("pull-up" as const) : ("none" as const)),
    pullUpOhms: job.circuit?.pullUpOhms ?? null,
    supplyVolts: job.circuit?.supplyVolts ?? null,
    adcBits: job.circuit?.adcBits ?? null,
    groundOffsetVolts: job.circuit?.groundOffsetVolts ?? null,
  },
});

/**
 * Millivolts are read as volts; any other unit stays where the job states none for the readings. Volts beside ohms stay what they are too: a table
 * is straight between its rows in the unit that the device reads, and in no other.
 */
const inside = (job: JobInput, from: string | null) => {
  const own = from === "mV" ? "V" : from;
  const stated = job.readingUnit ?? own;
  return own !== null && stated !== null && (stated === "ohm") !== (own === "ohm") ? own : stated;
};

/**
 * The table found, readings in the job's unit (volts beside ohms in their own) and volumes in litres of what the device shows.
 *
 * `reading_V`, `reading_mV`, `reading_ohm`, `reading_count` and `volume_L` say their unit; plain `reading` and `volume` are in the units that the
 * device takes its table in (`device.tableReadingUnit`, `device.tableVolumeUnit`).
 * @returns `unread`: why rows could not be converted, or null; no row is then taken.
 */
export function foundTable(job: JobInput): Pick<Job["asFound"], "table" | "readingUnit" | "unread"> {
  const units = deviceUnits(job);
  const context = { density_kg_per_L: null, capacity_L: job.tank?.capacity_L ?? null };
  const table: Job["asFound"]["table"] = [];
  let readingUnit: Job["asFound"]["readingUnit"] = null;
  for (const [k, row] of (job.asFound?.table ?? []).entries()) {
    const named = (Object.keys(readingKeys) as (keyof typeof readingKeys)[]).find((k) => finite(row[k]));
    const from = named ? readingKeys[named] : units.reading;
    const written = named ? row[named] : row.reading;
    const volume = finite(row.volume_L) ? row.volume_L : row.volume;
    if (!finite(written) || !finite(volume))
      return unread(`its row ${k + 1} is not a reading and a volume, both as numbers`);
    const to = inside(job, from);
    const scale = from === null || to === null || from === to ? null : readingScale(to, from, scaleJob(job));
    const stated = job.readingUnit ?? to;
    if ((from !== to && !scale) || (stated !== to && !readingScale(stated!, to!, scaleJob(job))))
      return unread(
        `its readings are in ${readingSigns[from as keyof typeof readingSigns]}, those of the job in ${readingSigns[stated as keyof typeof readingSigns]}, and the job does not say how one becomes the other`,
      );
    if (readingUnit !== null && to !== readingUnit)
      return unread(
        `its rows are in two units, ${readingSigns[readingUnit]} and ${readingSigns[to as keyof typeof readingSigns]}`,
      );
    readingUnit = to as Job["asFound"]["readingUnit"];
    const per = finite(row.volume_L) ? 1 : litresPer(units.volume, context);
    if (per === null) return unread("its volumes are in percent, and the job states no capacity");
    table.push({ reading: scale ? scale.from(written) : written, volume_L: volume * per });
  }
  return { table, readingUnit, unread: null };
}

const unread = (why: string) => ({ table: [], readingUnit: null, unread: why });

/** The same rows in the device's own units, as they are copied from it: what the page shows and takes. What cannot be converted stays as written. */
export function foundAsCopied(job: JobInput): { reading: number; volume: number }[] {
  const { reading, volume } = deviceUnits(job);
  const { table, readingUnit: to, unread } = foundTable(job);
  if (unread !== null)
    return (job.asFound?.table ?? []).flatMap((row) => {
      const named = Object.keys(readingKeys).find((k) => finite(row[k]));
      const [written, amount] = [named ? row[named] : row.reading, row.volume ?? row.volume_L];
      return finite(written) && finite(amount) ? [{ reading: written, volume: amount }] : [];
    });
  const scale = reading === null || to === null || reading === to ? null : readingScale(to, reading, scaleJob(job));
  const per = litresPer(volume, { density_kg_per_L: null, capacity_L: job.tank?.capacity_L ?? null }) ?? 1;
  const short = (v: number) => Number(v.toPrecision(9));
  return table.map((r) => ({
    reading: short(scale ? scale.to(r.reading) : r.reading),
    volume: short(r.volume_L / per),
  }));
}
