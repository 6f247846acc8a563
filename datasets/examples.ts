/** The examples of the club, each made from its recipe. */
import { createRandom } from "../src/math/random";
import { clubRecipes } from "./club";
import { complaintRecipes } from "./complaints";
import type { Recipe } from "./recipe";
import { simulateDrive } from "./world/drive";
import { type FillTruth, pourFill, recordFill } from "./world/fill";
import { type DayTruth, readingAt } from "./world/sender";
import { createTank } from "./world/tank";
import { driveCsv, fillCsv, traceCsv } from "./world/write";

export const fillDay: DayTruth = { contactOhms: 0, supplyFactor: 1, groundVolts: 0, height: 0, hang: 1 };

const all = [...clubRecipes, ...complaintRecipes];

export const exampleNames = all.map((r) => r.name);

/** What an example is made from. @throws if there is no example of that name. */
export function recipeOf(name: string): Recipe {
  const recipe = all.find((r) => r.name === name);
  if (!recipe) throw new Error(`recipeOf: there is no example "${name}"`);
  return recipe;
}

/** All files of one example, as they stand in its folder. The same recipe always gives the same bytes. */
export function makeExample(name: string): { name: string; text: string }[] {
  const recipe = recipeOf(name);
  const { sender, circuit, style, log } = recipe;
  const random = createRandom(recipe.seed);
  const tank = createTank(recipe.tank);
  const fill: FillTruth = { ...recipe.fill, faults: [] };
  const record = pourFill(tank, sender, circuit, fillDay, fill, recipe.faults, random);
  const trace = fill.recorded
    ? recordFill(tank, sender, circuit, fillDay, fill, record, 5, recipe.drive.floor, random)
    : null;
  const drive = simulateDrive(
    tank,
    sender,
    circuit,
    recipe.serviceDay,
    recipe.drive,
    { seconds: log.minutes * 60, rate_Hz: log.rate_Hz, from_L: log.from_L, least_L: 0 },
    random,
  );
  const short = (x: number) => Number(x.toPrecision(8));
  const top_L = tank.capacity_L - fill.start_L;
  const curve = Array.from({ length: 61 }, (_, i) => {
    const added_L = (i / 60) * top_L;
    const height = tank.heightAt(added_L + fill.start_L);
    return {
      added_L: short(added_L),
      fillDayReading: short(readingAt(sender, circuit, { ...fillDay, hang: 0.7 }, height)),
      serviceDayReading: short(readingAt(sender, circuit, recipe.serviceDay, height)),
    };
  });
  const fillTruth = {
    pour: {
      marked_L: fill.pour_L,
      scaleError: fill.scaleError,
      errorPerPour_L: fill.errorPerPour_L,
      readingError_V: fill.readingError,
    },
    faults: record.faults.map((f) => ({
      ...f,
      amount_L: short(f.amount_L),
      inStandardErrors: short(f.inStandardErrors),
    })),
    steps: record.steps.map((s, step) => ({
      step,
      volume_L: short(s.trueVolume_L),
      reading: short(s.trueReading),
    })),
  };
  const truth = {
    invented: true,
    seed: recipe.seed,
    volumes: "litres added since the start of the fill run, unless the name says contents",
    tank: recipe.tank,
    sender,
    circuit,
    fillDay,
    serviceDay: recipe.serviceDay,
    startContents_L: fill.start_L,
    unusableContents_L: recipe.trueUnusable_L,
    ...(recipe.withoutFill ? {} : fillTruth),
    curve,
    drive: {
      ...recipe.drive,
      fromContents_L: log.from_L,
      toContents_L: short(drive.contents_L[drive.contents_L.length - 1]!),
      spikes: drive.mark.filter((m) => m === 1).length,
      dropoutSamples: drive.mark.filter((m) => m === 2).length,
    },
  };
  return [
    { name: "about.md", text: alignTables(recipe.about) },
    ...(recipe.withoutFill
      ? []
      : [
          {
            name: "fill.csv",
            text: trace ? traceCsv(trace, circuit, style) : fillCsv(record, circuit, style, fill.readingStep),
          },
        ]),
    { name: "drive.csv", text: driveCsv(drive, circuit, style.decimalComma) },
    { name: "job.json", text: `${JSON.stringify(recipe.job, null, 2)}\n` },
    { name: "truth.json", text: `${JSON.stringify(truth, null, 1)}\n` },
  ];
}

/** Pads the cells of a table so that its columns stand under each other, as the project's formatter wants them. */
function alignTables(text: string): string {
  const lines = text.split("\n");
  const cells = lines.map((line) => (line.startsWith("|") ? line.slice(1, -1).split("|") : null));
  const widths: number[] = [];
  for (const row of cells)
    row?.forEach((cell, c) => {
      widths[c] = Math.max(widths[c] ?? 3, cell.trim().length);
    });
  return lines
    .map((line, i) => {
      const row = cells[i];
      if (!row) return line;
      const padded = row.map((cell, c) =>
        /^-+$/.test(cell) ? "-".repeat(widths[c]!) : cell.trim().padEnd(widths[c]!),
      );
      return `| ${padded.join(" | ")} |`;
    })
    .join("\n");
}
