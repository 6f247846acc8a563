/** Burn beside a refuel and beside a stand: the fuel that was planted is found again. */
import { describe, expect, test } from "vitest";
import { afterEarlyRefuel, settledFrom } from "../../src/pipeline/display-error";
import { driveText, job, log, noiseOf, curve as straight } from "./driven-log";

/** Volts in a litre of the straight curve: 3.5 V over 60 L. */
const perLitre_V = 3.5 / 60;
const burn_L_per_h = 10.286;

/** @param from_s @param to_s while `litres` are poured in. */
const filled = (from_s: number, to_s: number, litres: number, rows = 12_000) =>
  driveText({
    rows,
    cells: (_i, t, v) => [t, v - 0.5 + perLitre_V * litres * Math.min(1, Math.max(0, (t - from_s) / (to_s - from_s)))],
  });

describe("a refuel in a log", () => {
  test.each([
    ["early in it", 40, 100],
    ["at its very begin", 0, 60],
    ["in the middle", 300, 360],
    ["at its very end", 540, 600],
  ])("%s leaves the burn as well known as without, and its litres are found", (_where, from_s, to_s) => {
    const plain = log(driveText({ rows: 12_000 - 20 * 60 })).log;
    const found = log(filled(from_s, to_s, 20)).log;
    expect(Math.abs(found.burn_L_per_h - burn_L_per_h)).toBeLessThan(2.6 * found.burnStandard_L_per_h!);
    expect(found.burnStandard_L_per_h!).toBeLessThan(3 * plain.burnStandard_L_per_h!);
    expect(found.burnOver_s).toBeGreaterThan(530);
    expect(found.burnOver_s).toBeLessThan(550);
    // 20 L in, and a burn of 1.7 L in all.
    expect(found.to_L - found.from_L).toBeGreaterThan(17.5);
    expect(found.to_L - found.from_L).toBeLessThan(19.5);
  });

  test("is no motion where the curve bends: slosh keeps its share", () => {
    // Twice as steep in the upper half: 0 to 20 L below 2.25 V, 20 to 60 L above it.
    const grid = straight.grid.map(({ reading }) => ({
      reading,
      volume_L: reading < 2.25 ? ((reading - 0.5) / 1.75) * 20 : 20 + ((reading - 2.25) / 1.75) * 40,
    }));
    const bent = { ...straight, grid };
    const reads = (litres: number) => (litres < 20 ? 0.5 + 1.75 * (litres / 20) : 2.25 + 1.75 * ((litres - 20) / 40));
    const text = driveText({
      slosh: 0.5,
      cells: (_i, t, v) => [t, v - 2.5 + reads(12 + 31 * Math.min(1, Math.max(0, (t - 60) / 60)))],
    });
    const still = driveText({ slosh: 0.5, cells: (_i, t, v) => [t, v + 0.75] });
    const share = (t: string) => {
      const answer = noiseOf([log(t, { curve: bent }).log], bent, job);
      if (answer.state !== "ready") throw new Error("not ready");
      return answer.value.sloshShare;
    };
    expect(share(text)).toBeGreaterThan(0.9 * share(still));
  });

  test("early in a log is counted for no filter, so that a slow one gains nothing by not having settled", () => {
    const trend_L = Float64Array.from({ length: 1000 }, (_, i) => (i < 100 ? 10 : i < 200 ? 10 + 0.2 * (i - 99) : 30));
    expect(afterEarlyRefuel(trend_L)).toBe(200);
    expect(afterEarlyRefuel(trend_L.slice().reverse())).toBe(0);
    expect(settledFrom(1, 0.1, 1000, 200)).toBe(230);
    expect(settledFrom(100, 0.1, 1000, 200)).toBe(600);
  });
});

describe("a vehicle that stands for a part of the log", () => {
  /** Driven to `stop_s`, then parked: the level stands there. @param speeds whether a speed was logged. */
  const parkedFrom = (stop_s: number, speeds: boolean) => {
    const lines = driveText({
      rows: 24_000,
      burn: 2,
      cells: (_i, t, v) => [t, t < stop_s ? v : 2.5 - 2 * (0.1 / 600) * stop_s + 0.001 * Math.sin(977 * t)],
    }).split("\n");
    if (!speeds) return lines.join("\n");
    return lines.map((l, i) => (i === 0 ? `${l},speed_kmh` : `${l},${(i - 1) / 20 < stop_s ? 50 : 0}`)).join("\n");
  };

  test("burns only while it is driven, and its level ends where it stood", () => {
    const { log: found } = log(parkedFrom(700, true));
    expect(found.burnOver_s).toBeCloseTo(700, 0);
    expect(Math.abs(found.burn_L_per_h - 2 * burn_L_per_h)).toBeLessThan(2.6 * found.burnStandard_L_per_h!);
    const stands_L = (2.5 - 2 * (0.1 / 600) * 700 - 0.5) / perLitre_V;
    expect(Math.abs(found.to_L - stands_L)).toBeLessThan(0.3);
  });

  test("whose level falls all the same, as a pump's does, burns by the clock", () => {
    const lines = driveText({ rows: 24_000, burn: 2 }).split("\n");
    const { log: found } = log(
      lines.map((l, i) => (i === 0 ? `${l},speed_kmh` : `${l},${i < 14_000 ? 50 : 0}`)).join("\n"),
    );
    expect(found.burnOver_s).toBe(found.duration_s);
    expect(Math.abs(found.burn_L_per_h - 2 * burn_L_per_h)).toBeLessThan(2.6 * found.burnStandard_L_per_h!);
  });
});
