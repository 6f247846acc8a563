import { describe, expect, test } from "vitest";
import { analysisOf } from "../../src/pipeline/analysis";
import type { JobInput } from "../../src/pipeline/job";
import type { Settings } from "../../src/pipeline/settings";
import { published } from "../../src/said";
import { runExample } from "./example-run";

type Device = NonNullable<JobInput["device"]>;

/** Settings of the moor runner with another device, without a drive unless asked for. */
function settingsOf(device: Device, withDrive = false) {
  const run = runExample("moor-runner", (s) => ({
    ...s,
    job: { ...s.job, device: { ...s.job.device, ...device } },
    files: withDrive ? s.files : { ...s.files, drives: [] },
  }));
  const { settings } = run.answers;
  if (settings.state !== "ready")
    throw new Error(settings.state === "stuck" ? published(settings.issue.says) : "waiting");
  return { ...run, settings: settings.value };
}
/** The number at a path such as `settings.table.3.reading`. */
const at = (tree: unknown, path: string) =>
  path.split(".").reduce<unknown>((node, key) => (node as Record<string, unknown>)[key], tree);
const onLattice = (x: number, step: number) => Math.abs(x / step - Math.round(x / step)) < 1e-6;

const plain = settingsOf({}, true);

describe("what is typed", () => {
  test("each line of the card is the number at its path in the published analysis, digit for digit", () => {
    const analysis = analysisOf(plain.answers, plain.all);
    expect(plain.settings.lines.length).toBeGreaterThan(20);
    for (const line of plain.settings.lines) expect(Number(line.digits), line.path).toBe(at(analysis, line.path));
    expect(new Set(plain.settings.lines.map((l) => l.path)).size).toBe(plain.settings.lines.length);
  });

  test("stands on the device's own steps, inside its range", () => {
    const { settings } = plain;
    for (const row of settings.table) {
      expect(onLattice(row.reading, 0.01) && onLattice(row.volume, 0.1)).toBe(true);
      expect([row.readingUnit, row.volumeUnit]).toEqual(["V", "L"]);
    }
    expect(settings.smoothing).toMatchObject({ asks: "seconds", unit: "s" });
    expect(onLattice(settings.smoothing!.value!, 0.5) && settings.smoothing!.value! <= 120).toBe(true);
    expect(onLattice(settings.deadband!.value, 0.1) && settings.deadband!.value <= 5).toBe(true);
    expect(onLattice(settings.faultLimits!.low, 0.01) && onLattice(settings.faultLimits!.high, 0.01)).toBe(true);
  });

  test("the ends are the outer rows of the table, empty on the low volume", () => {
    const volumes = plain.settings.table.map((r) => r.volume);
    const rowAt = (volume: number) => plain.settings.table.find((r) => r.volume === volume)!.reading;
    expect(plain.settings.ends).toEqual({
      empty: rowAt(Math.min(...volumes)),
      full: rowAt(Math.max(...volumes)),
      unit: "V",
    });
  });

  test("the fault limits leave the whole travel inside", () => {
    const { faultLimits, ends } = plain.settings;
    expect(faultLimits!.low).toBeLessThan(Math.min(ends.empty, ends.full));
    expect(faultLimits!.high).toBeGreaterThan(Math.max(ends.empty, ends.full));
  });

  test("a falling table is written falling", () => {
    const readings = plain.settings.table.map((r) => r.reading);
    expect(readings).toEqual([...readings].sort((a, b) => b - a));
  });
});

describe("the device's own units", () => {
  const volts = settingsOf({});
  const inMillivolts = settingsOf({ tableReadingUnit: "mV", tableReadingStep: 10 });
  test("millivolts are the volts times a thousand, fault limits and ends too", () => {
    const to = (v: number) => Math.round(v * 1000);
    const table = (s: Settings) => s.table.map((r) => [r.reading, r.volume]);
    expect(table(inMillivolts.settings)).toEqual(table(volts.settings).map(([r, v]) => [to(r!), v]));
    expect(inMillivolts.settings.ends).toEqual({
      empty: to(volts.settings.ends.empty),
      full: to(volts.settings.ends.full),
      unit: "mV",
    });
    expect(inMillivolts.settings.faultLimits).toEqual({
      low: to(volts.settings.faultLimits!.low),
      high: to(volts.settings.faultLimits!.high),
      unit: "mV",
    });
  });

  test("ohms come from volts through the stated divider: R = Rp·V/(Vs − V)", () => {
    const { settings } = settingsOf({ tableReadingUnit: "ohm", tableReadingStep: 0.1 });
    const ohms = (v: number) => (150 * v) / (5 - v);
    // Half a step of each side: 0.005 V of the volt table, 0.05 ohm of the ohm table.
    const slope = (v: number) => (150 * 5) / (5 - v) ** 2;
    for (const end of ["empty", "full"] as const) {
      const v = volts.settings.ends[end];
      expect(Math.abs(settings.ends[end] - ohms(v))).toBeLessThan(0.05 + 0.005 * slope(v) + 1e-9);
    }
    expect(settings.faultLimits!.unit).toBe("ohm");
    expect(settings.faultLimits!.low).toBeLessThan(settings.ends.full);
    expect(settings.faultLimits!.high).toBeGreaterThan(settings.ends.empty);
  });

  test("a display in percent warns in percent, rounded up to its step", () => {
    const { settings, answers } = settingsOf({ displayUnit: "percent", displayStep: 5 });
    if (answers.lowFuel.state !== "ready") throw new Error("low fuel is there without a drive");
    const warn_L = answers.lowFuel.value.warnAtUsable_L;
    const { warning } = settings;
    expect(warning!.unit).toBe("%");
    expect(onLattice(warning!.at, 5)).toBe(true);
    expect((warning!.at * 64) / 100).toBeGreaterThanOrEqual(warn_L - 1e-9);
    expect(((warning!.at - 5) * 64) / 100).toBeLessThan(warn_L);
  });

  test("a warning that can neither clear nor wait gets one number", () => {
    const { settings } = settingsOf({ warning: { canClear: false, canDelay: false } });
    expect(settings.warning).toMatchObject({ clear: null, delay_s: null });
    expect(settings.lines.filter((l) => l.group === "warning").map((l) => l.label)).toEqual(["Warn at"]);
  });

  test("what the device does not have is not typed: no fault limits, no smoothing", () => {
    const { settings } = settingsOf({ has: [], smoothing: { asks: "none" } }, true);
    expect(settings.faultLimits).toBeNull();
    expect(settings.smoothing).toEqual({ asks: "none", value: null, unit: "" });
    expect(settings.lines.some((l) => l.group === "smoothing" || l.group === "fault-limits")).toBe(false);
  });

  test("without a drive log smoothing and deadband stay open", () => {
    expect(volts.settings).toMatchObject({ smoothing: null, deadband: null });
    expect(volts.settings.table.length).toBeGreaterThanOrEqual(2);
  });
});

describe("smoothing in the form the device asks for", () => {
  test.each([
    ["factor", 0.0001, 1, (x: number) => -0.1 / Math.log(1 - x)],
    ["cutoff", 0.0001, 5, (x: number) => 1 / (2 * Math.PI * x)],
    // N readings averaged exponentially, alpha = 2/(N + 1): common practice, no source.
    ["samples", 1, 5000, (x: number) => -0.1 / Math.log(1 - 2 / (x + 1))],
  ] as const)("%s gives back the time constant that the display promises", (asks, step, most, seconds) => {
    const { settings, answers } = settingsOf({ smoothing: { asks, least: 0, most, step } }, true);
    if (answers.display.state !== "ready") throw new Error("the display is there with a drive");
    expect(settings.smoothing!.asks).toBe(asks);
    expect(onLattice(settings.smoothing!.value!, step)).toBe(true);
    const promised = answers.display.value.timeConstant_s;
    expect(seconds(settings.smoothing!.value!) / promised).toBeCloseTo(1, 6);
  });
});
