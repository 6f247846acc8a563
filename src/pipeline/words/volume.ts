/**
 * Volume: the unit that volumes are written in. Stages reckon in litres and the published analysis stays in litres; what is read is written
 * in the unit of the job. What is typed into the device keeps the device's own unit, and where that is the litre, numbers that are set have it in brackets.
 */
import { asStated, inLitres, quantityInUnit, type VolumeWords, volumeUnitSigns } from "../../quantity";
import { type Phrase, phrasesInUnit, saidIn } from "../../said";
import { litresPer } from "../../units";
import type { Job } from "../job";
import type { Beside, Finding, WorkingLine } from "./finding";
import { litres, litresSet, setting } from "./quantity";

/** @returns litres where the job states no unit, or not what its unit needs (density for kilograms, capacity for percent), or is not there. */
export function volumeWordsOf(job: Pick<Job, "volumeUnit" | "pour" | "tank" | "device"> | null): VolumeWords {
  if (!job?.volumeUnit || job.volumeUnit === "L") return inLitres;
  const litres = litresPer(job.volumeUnit, {
    density_kg_per_L: job.pour.density_kg_per_L,
    capacity_L: job.tank.capacity_L,
  });
  if (litres === null) return inLitres;
  return {
    sign: volumeUnitSigns[job.volumeUnit],
    litres,
    litresInBrackets: job.device.tableVolumeUnit === "L" || job.device.displayUnit === "L",
  };
}

/** What is typed in the unit, from what is kept in litres: as it was typed, else to four figures. */
export const inVolume = (value_L: number | null, volume: VolumeWords): number | null =>
  value_L === null || volume.litres === 1 ? value_L : asStated(value_L / volume.litres);

/** Litres that were found, as a figure writes them: just as a sentence does. */
export const volumeText = (value_L: number, volume: VolumeWords): string =>
  quantityInUnit(litres(null, value_L), volume).text;

/** Litres that are set or asked for. @param digits significant figures; a tenth of a litre unless told. */
export const volumeSetText = (value_L: number, volume: VolumeWords, digits?: number): string =>
  quantityInUnit(digits === undefined ? litresSet(null, value_L) : setting(null, value_L, "L", digits), volume).text;

export function findingInUnit(finding: Finding, volume: VolumeWords): Finding {
  const caution = finding.caution === null ? null : saidIn(finding.caution, volume);
  if (volume.litres === 1) return { ...finding, caution };
  const of = (phrases: Phrase[]) => phrasesInUnit(phrases, volume);
  return {
    ...finding,
    sentence: of(finding.sentence),
    ...(finding.further ? { further: of(finding.further) } : {}),
    // The contents have room for one unit: what is typed stands in the leaf in both.
    short: phrasesInUnit(finding.short, { ...volume, litresInBrackets: false }),
    condition: of(finding.condition),
    caution,
    ...(finding.beside ? { beside: besideIn(finding.beside, of) } : {}),
  };
}

const besideIn = (beside: Beside, of: (phrases: Phrase[]) => Phrase[]): Beside => ({
  ...beside,
  rows: beside.rows.map((r) => ({ ...r, yours: of(r.yours), recommended: of(r.recommended) })),
  after: of(beside.after),
});

/** A line of the working as it is read. */
export type ReadLine = Omit<WorkingLine, "what" | "source"> & { what: string; source: string | null };

export const workingInUnit = (lines: WorkingLine[], volume: VolumeWords): ReadLine[] =>
  lines.map((l) => ({
    ...l,
    what: saidIn(l.what, volume),
    figures: phrasesInUnit(l.figures, volume),
    source: l.source === null ? null : saidIn(l.source, volume),
  }));
