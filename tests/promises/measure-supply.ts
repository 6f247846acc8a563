/**
 * Closed loop of a supply that strays on the road: a drive logs it, and the service-day band is held to readings taken at any later moment, each with
 * the supply where it happens to stand then.
 */
import { span } from "../../datasets/world/draw";
import { makeJob } from "../../datasets/world/job";
import { readingAt } from "../../datasets/world/sender";
import { createTank } from "../../datasets/world/tank";
import { valueIn } from "../../src/answer";
import { createRandom } from "../../src/math/random";
import { noChoices } from "../../src/pipeline/choices";
import { interpolate } from "../../src/pipeline/curve-lookup";
import { createPipeline } from "../../src/pipeline/index";
import { coverageLine, type Line } from "./lines";
import { sourceFile } from "./pipeline-run";
import { coverage } from "./score";

export interface SupplyScore {
  seed: number;
  /** Root mean square by which the supply strays, a share of the stated one. */
  stray: number;
  /** Share of the moments at which the service-day band holds the true volume, and its mean half-width in percent of capacity. */
  logged: { share: number; halfWidth: number };
  unlogged: { share: number; halfWidth: number };
}

const moments = 240;
/** The supply wanders with the loads that come and go; a drive of 20 minutes sees many of them. */
const wander_s = 40;
const drive_s = 1200;

/** @returns null for a job whose sender is not read in volts behind a pull-up. */
export function measureSupply(seed: number): SupplyScore | null {
  const world = makeJob(seed);
  const { truth, job } = world;
  if (truth.circuit.kind !== "pull-up" || truth.circuit.unit !== "V") return null;
  const random = createRandom(seed * 3571);
  const stray = span(random, 0.01, 0.05);
  // The fill day's supply stands as stated, so that its sheet is the same whether the converter follows it or not.
  const circuit = { ...truth.circuit, ratiometric: false };
  const tank = createTank(truth.tank);
  const at = (contents_L: number, off: number) =>
    readingAt(truth.sender, circuit, { ...truth.serviceDay, supplyFactor: 1 + off }, tank.heightAt(contents_L));
  const keep = Math.exp(-1 / wander_s);
  let off = stray * random.normal();
  const rows = Array.from({ length: drive_s }, (_, t) => {
    off = keep * off + stray * Math.sqrt(1 - keep * keep) * random.normal();
    const reading = at(0.5 * truth.tank.capacity_L - (t / drive_s) * 0.02 * truth.tank.capacity_L, off);
    return `${t},${reading.toFixed(4)},${(circuit.supplyVolts * (1 + off)).toFixed(3)}`;
  });
  const bandWith = (supply: boolean) => {
    const text = [
      supply ? "time_s,sender_V,supply_V" : "time_s,sender_V",
      ...rows.map((r) => (supply ? r : r.replace(/,[^,]*$/, ""))),
    ];
    const { stages } = createPipeline({
      job: { ...job, circuit: { ...job.circuit, ratiometric: false } },
      files: {
        fills: world.fillFiles.map((f) => sourceFile("fill", f)),
        drives: [sourceFile("drive", { name: "drive.csv", text: `${text.join("\n")}\n` })],
      },
      readings: {},
      choices: { ...noChoices, seed: 1 },
    });
    return valueIn(stages.curve.read());
  };
  const top_L = truth.record.steps[truth.record.steps.length - 1]!.trueVolume_L;
  const points = Array.from({ length: moments }, (_, i) => ({
    volume_L: ((i + 0.5) / moments) * top_L,
    off: stray * random.normal(),
  })).filter(({ volume_L }) => {
    const height = tank.heightAt(volume_L + truth.fill.start_L);
    return height > truth.sender.lowStop && height < truth.sender.highStop;
  });
  const score = (supply: boolean) => {
    const curve = bandWith(supply);
    if (!curve) return null;
    const { share, halfWidth } = coverage(
      points.map(({ volume_L, off }) => {
        const reading = at(volume_L + truth.fill.start_L, off);
        return {
          truth: volume_L,
          lower: interpolate(curve.grid, reading, (p) => p.serviceLower_L),
          upper: interpolate(curve.grid, reading, (p) => p.serviceUpper_L),
        };
      }),
    );
    return { share, halfWidth: (100 * halfWidth) / truth.tank.capacity_L };
  };
  const [logged, unlogged] = [score(true), score(false)];
  return logged && unlogged ? { seed, stray, logged, unlogged } : null;
}

export function supplyLines(from: number, to: number): Line[] {
  const scores = Array.from({ length: to - from + 1 }, (_, i) => measureSupply(from + i) ?? []).flat();
  return [
    coverageLine(
      "supply strays 1 to 5 %, logged on a drive: service-day band covers (95 % stated)",
      scores.map((s) => s.logged),
    ),
    coverageLine(
      "  the same drive without the log",
      scores.map((s) => s.unlogged),
    ),
  ];
}
