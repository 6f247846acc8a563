/** Closed loop of a drain run alone: a simulated tank is drawn down until its pump draws air, and the band is held to what was really in it. */
import { drainReading, drawDown, drawnTank } from "../../datasets/world/drain";
import { makeJob } from "../../datasets/world/job";
import { fillCsv } from "../../datasets/world/write";
import { valueIn } from "../../src/answer";
import { noChoices } from "../../src/pipeline/choices";
import { interpolate } from "../../src/pipeline/curve-lookup";
import { createPipeline } from "../../src/pipeline/index";
import type { JobInput } from "../../src/pipeline/job";
import { coverageLine, type Line, spread, two } from "./lines";
import { lookUp, twoPoints } from "./naive";
import { sourceFile } from "./pipeline-run";
import { coverage, quantile, rms } from "./score";

export interface DrainScore {
  seed: number;
  family: string;
  /** Share of the readings between the dead zones at which the band holds the true volume, mean half-width in percent of capacity. */
  band: { share: number; halfWidth: number };
  /** Percent of capacity, all volumes from the end to the first row. */
  curveRms: number;
  twoPointRms: number;
}

const points = 240;

/** @returns null where the pipeline comes to no curve; a test holds that to never. */
export function measureDrain(seed: number, faults: boolean): DrainScore | null {
  const world = makeJob(seed);
  const { truth } = world;
  const drain = drawDown(truth, 1, faults);
  const tank = drawnTank(truth.tank);
  const text = fillCsv(
    drain.record,
    truth.circuit,
    { unit: "L", entered: "added", density_kg_per_L: 0.745, decimalComma: false },
    truth.fill.readingStep,
  );
  const job: JobInput = {
    ...world.job,
    volumeUnit: "L",
    fill: { enteredAs: "added" },
    drain: { endedAt: "pump-draws-air" },
  };
  const { stages } = createPipeline({
    job,
    files: { fills: [sourceFile("drain", { name: "drain.csv", text })], drives: [] },
    readings: {},
    choices: { ...noChoices, seed: 1 },
  });
  const curve = valueIn(stages.curve.read());
  if (!curve) return null;
  const top_L = drain.from_L - drain.to_L;
  const percent = (litres: number) => (100 * litres) / truth.tank.capacity_L;
  const shown = drainReading(truth, drain, tank);
  const volumes = Array.from({ length: points }, (_, i) => ((i + 0.5) / points) * top_L);
  const between = volumes.filter((v) => {
    const height = tank.heightAt(v + drain.to_L);
    return height > truth.sender.lowStop && height < truth.sender.highStop;
  });
  const band = coverage(
    between.map((v) => ({
      truth: v,
      lower: interpolate(curve.grid, shown(v), (p) => p.lower_L),
      upper: interpolate(curve.grid, shown(v), (p) => p.upper_L),
    })),
  );
  // The last row is the empty tank: litres over the end, as the pipeline counts them.
  const rows = drain.record.steps;
  const drawn_L = rows[rows.length - 1]!.volume_L;
  const naive = twoPoints(rows.map((s) => ({ reading: s.reading, volume_L: drawn_L - s.volume_L })));
  return {
    seed,
    family: truth.family,
    band: { share: band.share, halfWidth: percent(band.halfWidth) },
    curveRms: percent(rms(volumes.map((v) => interpolate(curve.grid, shown(v), (p) => p.volume_L) - v))),
    twoPointRms: percent(rms(volumes.map((v) => lookUp(naive, shown(v)) - v))),
  };
}

/** Clean sheets of the seeds, and the same tanks drawn down with slips, as on a fill sheet. */
export function drainLines(from: number, to: number): Line[] {
  const seeds = Array.from({ length: to - from + 1 }, (_, i) => from + i);
  return [false, true].flatMap((faults) => {
    const scores = seeds.flatMap((seed) => measureDrain(seed, faults) ?? []);
    const sheets = faults ? "drain alone, slips on two sheets in three" : "drain alone, clean sheets";
    return [
      coverageLine(
        `${sheets}: band covers (95 % stated)`,
        scores.map((s) => s.band),
      ),
      spread(
        "  curve at rest, RMS",
        scores.map((s) => s.curveRms),
        "% of capacity",
        `two points ${two(
          quantile(
            scores.map((s) => s.twoPointRms),
            0.5,
          ),
        )}`,
      ),
    ];
  });
}
