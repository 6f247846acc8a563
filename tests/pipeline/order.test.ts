/** A device that smooths the volume: stated once, and every stage follows. */
import { describe, expect, test } from "vitest";
import { type Answer, valueIn } from "../../src/answer";
import { analysisOf } from "../../src/pipeline/analysis";
import { analysisSchema } from "../../src/pipeline/analysis-schema";
import { atDeviceRate } from "../../src/pipeline/device-record";
import { type Job, unusableOffset_L } from "../../src/pipeline/job";
import { allFindings, textOf } from "../../src/pipeline/words/all";
import { displayFinding, displayWorking } from "../../src/pipeline/words/display";
import { endsWorking } from "../../src/pipeline/words/ends";
import { type Device, deviceFrom, runDevice } from "../promises/replay";
import { runExample } from "./example-run";

const run = (smooths?: Job["device"]["smooths"]) =>
  runExample("moor-runner", (s) => ({
    ...s,
    job: { ...s.job, device: { ...s.job.device, ...(smooths && { smooths }) } },
  }));
const runs = { unsaid: run(), reading: run("reading"), volume: run("volume") };
const get = <T>(answer: Answer<T>): T => valueIn(answer)!;

describe("the order of smoothing and table", () => {
  test("is the reading's unless stated, and then it is a named default; stated, nothing else changes", () => {
    const { unsaid, reading } = runs;
    const named = (r: typeof unsaid) => get(r.answers.job).assumed.filter((a) => a.path === "device.smooths");
    expect(named(unsaid)).toEqual([{ path: "device.smooths", value: "reading", why: "named default, no source" }]);
    expect(named(reading)).toEqual([]);
    const without = (r: typeof unsaid) => ({ ...analysisOf(r.answers, r.all), assumed: null });
    expect(without(reading)).toEqual(without(unsaid));
  });

  test("is in the published analysis, which holds to its schema", () => {
    const analysis = analysisOf(runs.volume.answers, runs.volume.all);
    expect(analysisSchema.safeParse(analysis).success).toBe(true);
    expect(analysis).toMatchObject({ display: { order: "table-then-filter" } });
    expect(analysisOf(runs.unsaid.answers, runs.unsaid.all)).toMatchObject({
      display: { order: "reading-then-table" },
    });
  });

  test("the trial replays what a device of that order does, written by itself", () => {
    const { answers } = runs.volume;
    const job = get(answers.job);
    const log = get(answers.driveLog)[0]!;
    const { faultLow, faultHigh } = get(answers.circuit);
    const record = atDeviceRate(log, job.device.rate_Hz, faultLow, faultHigh);
    const base_L = job.device.shows === "usable" ? unusableOffset_L(job).offset_L : 0;
    const { window } = get(answers.trial);
    const farthest = (order: Device["order"]) => {
      const device = deviceFrom(get(answers.settings), order, {
        capacity_L: job.tank.capacity_L!,
        rate_Hz: job.device.rate_Hz,
        displayUnit: job.device.displayUnit,
        displayStep: job.device.displayStep,
      });
      const { smoothed_L } = runDevice(device, record.reading);
      const at = (t: number) => Math.round((window.from_s + t) / record.interval_s);
      return Math.max(...window.time_s.map((t, i) => Math.abs(smoothed_L[at(t)]! + base_L - window.smoothed_L[i]!)));
    };
    expect(farthest("table-then-filter")).toBeLessThan(1e-6);
    expect(farthest("reading-then-table")).toBeGreaterThan(0.01);
  });

  test("no crossing rate of filtered noise is used for its ends: the mean of the motion and replay decide", () => {
    const ends = { volume: get(runs.volume.answers.ends), reading: get(runs.reading.answers.ends) };
    for (const end of ["empty", "full"] as const) {
      expect(ends.volume[end].byFormula).toBeNull();
      expect(ends.volume[end].carried).not.toBeNull();
      expect(ends.reading[end].byFormula).not.toBeNull();
      expect(ends.volume[end].parts.map((p) => p.part)).not.toContain("filtered noise");
    }
    const said = textOf(allFindings(runs.volume.answers).find((l) => l.name === "ends")!.finding!.condition);
    expect(said).toContain("smoothed behind the table as your device does");
    expect(said).not.toContain("formula");
    const formulas = endsWorking(ends.volume, "V").map((l) => l.formula ?? "");
    expect(formulas.some((f) => f.includes("f₀"))).toBe(false);
    expect(endsWorking(ends.reading, "V").some((l) => l.formula?.includes("f₀"))).toBe(true);
  });

  test("the warning and the range count what smoothing behind the table lifts, and only there", () => {
    const part = "smoothing behind the table";
    const { volume, reading } = runs;
    expect(get(reading.answers.lowFuel).parts.map((p) => p.part)).not.toContain(part);
    const low = get(volume.answers.lowFuel);
    expect(low.parts.find((p) => p.part === part)!.value_L).toBeGreaterThan(0);
    expect(low.behindTable_L).toBeGreaterThan(0);
    expect(get(reading.answers.lowFuel)).not.toHaveProperty("behindTable_L");
  });
});

describe("what is said of it", () => {
  const said = (which: keyof typeof runs, mean_L: number) => {
    const { answers } = runs[which];
    const display = { ...get(answers.display), orderDifference: { mean_L, rms_L: Math.abs(mean_L) } };
    return textOf(displayFinding(display, get(answers.job)).condition).replaceAll("\u00a0", " ");
  };

  test("is a doubt where nobody stated it and it would show, more or less as it is", () => {
    expect(said("unsaid", 0.3)).toContain(
      "is taken to smooth the reading before its table. One that smooths behind it would show 0.30 L more on average: find out which it is.",
    );
    expect(said("unsaid", -0.3)).toContain("would show 0.30 L less on average: find out");
    expect(said("unsaid", 0.01)).not.toContain("smooth");
  });

  test("is no doubt where it is stated: of a smoothed volume what that shows, of a smoothed reading nothing", () => {
    expect(said("volume", 0.3)).toContain(
      "smooths the volume, behind its table: it shows 0.30 L more on average than if it smoothed the reading.",
    );
    for (const which of ["volume", "reading"] as const) expect(said(which, 0.3)).not.toContain("find out");
    expect(said("reading", 0.3)).not.toContain("smooth");
    const what = displayWorking(get(runs.volume.answers.display)).map((l) => l.what);
    expect(what).toContain("Smoothing behind the table, as this device does, instead of before it, replayed");
  });
});
