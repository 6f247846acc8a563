/** A few simulated jobs through the whole pipeline. The figures of the promises come from `npm run promises`; this holds what must never break. */
import { describe, expect, it } from "vitest";
import { families } from "../../datasets/world/families";
import { freshDrive, makeJob, restReading } from "../../datasets/world/job";
import { createTank } from "../../datasets/world/tank";
import { measureJob } from "./measure";
import { measureWatch, naiveAsks } from "./measure-watch";
import { hardness, summarise } from "./report";
import { mean } from "./score";
import { tableOf, wanted } from "./sum-up";

/** One job of each kind of sender and drive. */
const seeds = [3, 8, 9, 10, 11, 15];

describe("simulated jobs", () => {
  it("the same seed gives the same job, to the byte", () => {
    expect(JSON.stringify(makeJob(5))).toBe(JSON.stringify(makeJob(5)));
    expect(makeJob(5).fillFiles).not.toEqual(makeJob(16).fillFiles);
  });

  it("every family can be made by name, with volumes counted from the start of the fill", () => {
    for (const family of families) {
      const { truth, fillFiles } = makeJob(1, family.name);
      expect(truth.family).toBe(family.name);
      expect(truth.record.steps[0]).toMatchObject({ volume_L: 0, trueVolume_L: 0 });
      expect(fillFiles[0]!.text.split("\n").length).toBeGreaterThan(6);
    }
  });

  it("a tank's height and contents are each other's inverse", () => {
    for (const family of families) {
      const tank = createTank(makeJob(2, family.name).truth.tank);
      for (let i = 1; i < 20; i++) {
        const contents = (i / 20) * tank.capacity_L;
        expect(tank.contentsAt(tank.heightAt(contents))).toBeCloseTo(contents, 8);
      }
    }
  });

  it("a knowing observer reads a run right whose faults nobody can see, and is as unsure as the errors that are left", () => {
    // A pour that is missing while the second lobe fills; a misread step and a missing pour where the tank opens out.
    for (const [seed, unseen] of [
      [796, 3],
      [240, 6],
    ] as const) {
      const { score } = measureJob(makeJob(seed), { drives: false, minutes: 0 });
      expect(score.curveRms).toBeGreaterThan(unseen);
      expect(score.knowing!.rms).toBeLessThan(2);
    }
    // Where nothing is wrong and the tank is plain there is nothing more to know.
    for (const seed of [14, 30, 41, 58]) {
      const world = makeJob(seed);
      expect(world.truth.record.faults).toEqual([]);
      const { score } = measureJob(world, { drives: false, minutes: 0 });
      const ratio = score.knowing!.halfWidth / score.band!.halfWidth;
      expect(ratio).toBeGreaterThan(0.85);
      expect(ratio).toBeLessThan(1.05);
    }
  });

  it("a fresh drive is another drive of the same tank: fuel only falls, volumes stay in the base of the fill run", () => {
    const { truth } = makeJob(3);
    const one = freshDrive(truth, 1, 3);
    const two = freshDrive(truth, 2, 3);
    expect(one.reading).not.toEqual(two.reading);
    for (let i = 1; i < one.contents_L.length; i++)
      expect(one.contents_L[i]!).toBeLessThanOrEqual(one.contents_L[i - 1]!);
    expect(one.contents_L[0]! - one.added_L[0]!).toBeCloseTo(truth.fill.start_L, 9);
  });

  it("a sheet without faults lies within its stated errors of the truth", () => {
    for (const seed of seeds) {
      const { truth } = makeJob(seed);
      if (truth.record.faults.length > 0) continue;
      for (const step of truth.record.steps) {
        const limit =
          truth.fill.scaleErrorLimit * step.volume_L + 5 * truth.fill.errorPerPour_L * Math.sqrt(truth.fill.pours);
        expect(Math.abs(step.trueVolume_L - step.volume_L)).toBeLessThanOrEqual(limit);
      }
    }
  });

  it("on the service day the level falls, so the float stands high: the same reading on less fuel", () => {
    const { truth } = makeJob(3);
    const fill = restReading(truth, "fill");
    const quiet = { ...truth, serviceDay: { ...truth.fillDay, hang: -0.5 } };
    const service = restReading(quiet, "service");
    const rising = Math.sign(truth.sender.full - truth.sender.empty);
    // Averaged over levels, because the sender moves from one turn of its wire to the next.
    const levels = Array.from({ length: 400 }, (_, i) => (truth.tank.capacity_L * (100 + i)) / 600);
    expect(rising * mean(levels.map((v) => service(v) - fill(v)))).toBeGreaterThan(0);
  });
});

describe("closed loop on a few seeds", () => {
  const scores = seeds.map((seed) => measureJob(makeJob(seed), { drives: true, minutes: 10 }).score);

  it("the pipeline comes to a typed table on each", () => {
    expect(scores.map((s) => [s.seed, s.crashes])).toEqual(seeds.map((seed) => [seed, []]));
    for (const s of scores) expect(s.tableRms, `seed ${s.seed}`).not.toBeNull();
  });

  it("two points in volts are far off on these tanks, and the typed tables are much nearer", () => {
    expect(hardness(scores).twoPoint).toBeGreaterThan(4);
    expect(mean(scores.map((s) => s.tableRms!))).toBeLessThan(0.4 * mean(scores.map((s) => s.twoPointRms)));
  });

  it("no table comes under the least that any table could reach", () => {
    for (const s of scores) expect(s.tableRms!).toBeGreaterThanOrEqual(s.leastRms - 1e-9);
  });

  it("the fill-day bands hold the truth for most readings", () => {
    expect(mean(scores.map((s) => s.band!.share))).toBeGreaterThan(0.8);
  });

  it("the settings hold fresh drives far steadier than a 1 s filter on two points", () => {
    const roads = scores.map((s) => s.road!);
    expect(mean(roads.map((r) => r.reversalsPerMinute))).toBeLessThan(
      0.2 * mean(roads.map((r) => r.naiveReversalsPerMinute)),
    );
  });

  it("summed up as a table, each line that has a case stands in it, with what was wanted of it", () => {
    const lines = summarise(scores);
    for (const promise of Object.keys(wanted)) expect(lines.map((l) => l.promise)).toContain(promise);
    const [head, ...rows] = tableOf([
      { name: "all", scores },
      { name: "without drives", scores: scores.map((s) => ({ ...s, road: null })) },
    ]);
    expect(head).toEqual(["promise", "wanted", "all", "without drives", "beside it"]);
    const steady = rows.find(([promise]) => promise === "at most 2 reversals a minute")!;
    expect(steady[1]).toBe("95 %");
    expect(steady[2]).toBe(`${lines.find((l) => l.promise === steady[0])!.value} of ${scores.length}`);
    expect(steady[3]).toBe("");
    for (const line of lines.filter((l) => l.jobs > 0 && l.promise !== "whole pipeline"))
      expect(rows.map(([promise]) => promise)).toContain(line.promise.trim());
  });
});

describe("while the sheet is poured", () => {
  it("most faults are asked about within one further row, few clean sheets ever are, and the naive rule does worse at both", () => {
    const scores = Array.from({ length: 40 }, (_, i) => measureWatch(makeJob(i + 1))!);
    const sum = (of: (s: (typeof scores)[number]) => number) => scores.reduce((a, s) => a + of(s), 0);
    const clean = scores.filter((s) => s.clean);
    expect(sum((s) => s.worthy)).toBeGreaterThan(15);
    expect(sum((s) => s.raised)).toBeGreaterThan(0.7 * sum((s) => s.worthy));
    expect(sum((s) => s.raised)).toBeGreaterThanOrEqual(sum((s) => s.naiveRaised));
    expect(clean.filter((s) => s.warned).length).toBeLessThan(0.25 * clean.length);
    expect(clean.filter((s) => s.naiveWarned).length).toBeGreaterThan(clean.filter((s) => s.warned).length);
  });

  it("the naive rule asks under half and over double, and never in the first two rows", () => {
    const rows = [0, 1, 2, 2.4, 3.3].map((reading) => ({ added_L: 4, reading }));
    expect(rows.map((_, at) => naiveAsks(rows, at))).toEqual([false, false, false, true, true]);
  });
});
