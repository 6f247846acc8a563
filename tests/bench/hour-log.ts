/** A made-up drive log of one hour at 100 Hz beside an example's fill run: about 14 MB of text, the same for the same seed. */
import { recipeOf } from "../../datasets/examples";
import { type DriveRecord, simulateDrive } from "../../datasets/world/drive";
import { readingAt } from "../../datasets/world/sender";
import { createTank } from "../../datasets/world/tank";
import { driveCsv } from "../../datasets/world/write";
import { createRandom } from "../../src/math/random";
import type { TablePoint } from "../../src/pipeline/device-table";

export const hourRate_Hz = 100;

function drive(example: string, seed: number, hours: number): DriveRecord {
  const recipe = recipeOf(example);
  const tank = createTank(recipe.tank);
  return simulateDrive(
    tank,
    recipe.sender,
    recipe.circuit,
    recipe.serviceDay,
    recipe.drive,
    { seconds: 3600 * hours, rate_Hz: hourRate_Hz, from_L: 0.8 * tank.capacity_L, least_L: 0 },
    createRandom(seed),
  );
}

/** The same drive as numbers, with a table of 16 rows that turns its readings into litres. */
export function hourOfReadings(
  example: string,
  seed: number,
): { reading: Float64Array; trend_L: Float64Array; table: TablePoint[] } {
  const recipe = recipeOf(example);
  const tank = createTank(recipe.tank);
  const { reading, contents_L } = drive(example, seed, 1);
  const rows = Array.from({ length: 16 }, (_, i) => {
    const volume_L = (tank.capacity_L * (i + 0.5)) / 16;
    return { reading: readingAt(recipe.sender, recipe.circuit, recipe.serviceDay, tank.heightAt(volume_L)), volume_L };
  }).sort((a, b) => a.reading - b.reading);
  return { reading, trend_L: contents_L, table: rows.filter((r, i) => i === 0 || r.reading > rows[i - 1]!.reading) };
}

/** @param hours length of the log. @returns CSV text: time, reading, two accelerations, speed, engine turns. */
export function hourLog(example: string, seed: number, hours = 1): string {
  // Loggers write more than is asked for: one more column, whole numbers, that nothing reads.
  const rows = driveCsv(drive(example, seed, hours), recipeOf(example).circuit, false)
    .trimEnd()
    .split("\n");
  return `${rows.map((row, i) => (i === 0 ? `${row},engine_rpm` : `${row},${800 + ((137 * i) % 4200)}`)).join("\n")}\n`;
}
