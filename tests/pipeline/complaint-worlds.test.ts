/** Complaints of many simulated tanks: is the cause that was built in the one that is named, and is a sound display left alone? */
import { expect, test } from "vitest";
import { complaintRecipes } from "../../datasets/complaints";
import { simulateDrive } from "../../datasets/world/drive";
import { type DayTruth, readingAt, type SenderTruth } from "../../datasets/world/sender";
import { createTank, type TankShape } from "../../datasets/world/tank";
import { driveCsv } from "../../datasets/world/write";
import { createRandom } from "../../src/math/random";
import { noChoices } from "../../src/pipeline/choices";
import { answersOf, createPipeline } from "../../src/pipeline/index";
import { sourceFile } from "./example-run";

type Kind = "bounce" | "corner" | "sound";
const still: DayTruth = { contactOhms: 0, supplyFactor: 1, groundVolts: 0, height: 0, hang: 0 };
const shapes: TankShape[] = ["cylinder", "wedge", "saddle", "stepped", "keel"];

/** Causes named for one tank whose table is right, with nothing but the trouble of its kind. */
function causesOf(kind: Kind, seed: number, smooths: "reading" | "volume"): string[] {
  const random = createRandom(seed);
  const between = (low: number, high: number) => low + (high - low) * random.uniform();
  const recipe = complaintRecipes.find((r) => r.name === (kind === "bounce" ? "reed-punt" : "heath-dasher"))!;
  const tank = createTank({
    shape: shapes[random.below(shapes.length)]!,
    capacity_L: between(30, 110),
    length_mm: between(450, 800),
    width_mm: between(350, 600),
    depth_mm: between(200, 350),
    a: between(0.4, 0.8),
    b: between(0.4, 0.7),
  });
  const [empty, full] = random.uniform() < 0.5 ? [10, 180] : [180, 10];
  const sender: SenderTruth = {
    ...recipe.sender,
    empty,
    full,
    highStop: kind === "bounce" ? between(0.85, 0.93) : 0.96,
    offAlong_mm: between(0, 40),
    offAcross_mm: kind === "corner" ? -between(70, 140) : between(-30, 30),
  };
  const circuit = { ...recipe.circuit, pullUpOhms: 150, pullUpNominal: 150 };
  const truth = {
    ...recipe.drive,
    floor: kind === "bounce" ? between(0.015, 0.05) : 0.004,
    forcing: kind === "bounce" ? between(0.1, 0.4) : between(0.2, 0.6),
    damping: between(0.04, 0.1),
    burn_L_per_h: kind === "bounce" ? between(1, 4) : between(10, 25),
  };
  const from_L = tank.capacity_L * (kind === "bounce" ? 0.995 : kind === "corner" ? between(0.25, 0.4) : 0.6);
  const log = simulateDrive(
    tank,
    sender,
    circuit,
    { ...still, contactOhms: 0.2, hang: -0.5 },
    truth,
    { seconds: 900, rate_Hz: 10, from_L, least_L: 0 },
    random,
  );
  const top_L = tank.contentsAt(sender.highStop);
  const table = [0, 0.12, 0.25, 0.4, 0.55, 0.7, 0.85, 1].map((share) => ({
    reading_V: Math.round(100 * readingAt(sender, circuit, still, tank.heightAt(share * top_L))) / 100,
    volume_L: Math.round(10 * share * top_L) / 10,
  }));
  const job = {
    ...recipe.job,
    complaint: null,
    tank: { capacity_L: Math.round(tank.capacity_L) },
    sender: { kind: "float-arm" as const, emptyOhms: empty, fullOhms: full },
    circuit: { ...recipe.job.circuit, pullUpOhms: 150 },
    device: { ...recipe.job.device, displayUnit: "L" as const, displayStep: 1, rate_Hz: 10, smooths },
    asFound: {
      table,
      timeConstant_s: kind === "sound" ? 30 : between(0.3, 1.5),
      deadband: kind === "sound" ? 0.5 : 0,
      warnAt: Math.round((kind === "sound" ? 0.1 : 0.16) * tank.capacity_L),
    },
  };
  const drive = sourceFile("drive.csv", "drive", new TextEncoder().encode(driveCsv(log, circuit, false)));
  const { complaint } = answersOf(
    createPipeline({ job, files: { fills: [], drives: [drive] }, readings: {}, choices: noChoices }),
  );
  if (complaint.state !== "ready") throw new Error(JSON.stringify(complaint));
  return (complaint.value?.causes ?? []).map((c) => `${c.trouble}: ${c.cause}`);
}

/** Named rightly, named otherwise, and not showing at all in the log, over twelve tanks that nothing was tuned on. */
function tally(kind: Kind, right: string, smooths: "reading" | "volume" = "reading") {
  const all = Array.from({ length: 12 }, (_, i) => causesOf(kind, 9101 + i, smooths));
  // A display that dances besides is no case of this trouble; a sound one must show nothing at all.
  const trouble = right.replace(/:.*/, "");
  const shows = all.map((c) => c.filter((name) => name.startsWith(trouble))).filter((c) => c.length > 0);
  return { right: shows.filter((c) => c.includes(right)).length, shows: shows.length };
}

test("a full tank whose table ends on the stop: every bounce is laid to the missing margin", () => {
  const { right, shows } = tally("bounce", "bounces-at-an-end: no-margin");
  expect(shows).toBeGreaterThanOrEqual(6);
  expect(right).toBe(shows);
});

test("so it is where the device smooths the volume, whose margin no formula tells", () => {
  const { right, shows } = tally("bounce", "bounces-at-an-end: no-margin", "volume");
  expect(shows).toBeGreaterThanOrEqual(6);
  expect(right).toBe(shows);
});

test("a sender off the middle on laps: most lamps are laid to the corners", () => {
  const { right, shows } = tally("corner", "lamp-in-a-corner: tilt");
  expect(shows).toBeGreaterThanOrEqual(6);
  expect(right).toBeGreaterThanOrEqual(0.6 * shows);
});

test("a sound display is not blamed for anything", () => {
  expect(tally("sound", "").shows).toBe(0);
});
