/** A made-up drive log of one hour at 100 Hz beside an example's fill run: about 14 MB of text, the same for the same seed. */
import { recipeOf } from "../../datasets/examples";
import { simulateDrive } from "../../datasets/world/drive";
import { createTank } from "../../datasets/world/tank";
import { driveCsv } from "../../datasets/world/write";
import { createRandom } from "../../src/math/random";

export const hourRate_Hz = 100;

/** @param hours length of the log. @returns CSV text: time, reading, two accelerations, speed, engine turns. */
export function hourLog(example: string, seed: number, hours = 1): string {
  const recipe = recipeOf(example);
  const tank = createTank(recipe.tank);
  const drive = simulateDrive(
    tank,
    recipe.sender,
    recipe.circuit,
    recipe.serviceDay,
    recipe.drive,
    { seconds: 3600 * hours, rate_Hz: hourRate_Hz, from_L: 0.8 * tank.capacity_L, least_L: 0 },
    createRandom(seed),
  );
  // Loggers write more than is asked for: one more column, whole numbers, that nothing reads.
  const rows = driveCsv(drive, recipe.circuit, false).trimEnd().split("\n");
  return `${rows.map((row, i) => (i === 0 ? `${row},engine_rpm` : `${row},${800 + ((137 * i) % 4200)}`)).join("\n")}\n`;
}
