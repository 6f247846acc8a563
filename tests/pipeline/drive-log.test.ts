import { describe, expect, test } from "vitest";
import { createRandom } from "../../src/math/random";
import { curve, driveText, floor_V, job, log, noise, noiseOf, slosh_Hz } from "./driven-log";

describe("a plain drive", () => {
  const plain = driveText();
  const read = log(plain);

  test("has its rate, its burn and no oddity", () => {
    expect(read.log.sampleRate_Hz).toBeCloseTo(20, 6);
    expect(Math.abs(read.log.burn_L_per_h / 10.286 - 1)).toBeLessThan(0.05);
    expect(read.log.counts).toMatchObject({ spikes: 0, dropouts: 0, atEnd: 0, blank: 0, backwards: 0 });
    expect(read.cautions).toEqual([]);
  });

  test("shows its slosh within 5 % and its floor within 10 %", () => {
    const found = noise(plain);
    expect(Math.abs(found.sloshFrequency_Hz! / slosh_Hz - 1)).toBeLessThan(0.05);
    expect(Math.abs(found.floorSd / floor_V - 1)).toBeLessThan(0.1);
    expect(found.sloshShare).toBeGreaterThan(0.6);
  });

  test("over turns of wire 20 mV apart, another one in nearly every sample, the floor is told within 10 %", () => {
    const random = createRandom(2);
    const wound = driveText({
      slosh: 6,
      cells: (_, t, v) => [t, 0.02 * Math.round(v / 0.02) + floor_V * random.normal()],
    });
    expect(Math.abs(noise(wound).floorSd / floor_V - 1)).toBeLessThan(0.1);
  });

  test("without slosh claims no peak, and the floor is all", () => {
    const found = noise(driveText({ slosh: 0 }));
    expect(found.sloshFrequency_Hz).toBeNull();
    expect(found.whyNoPeak).not.toBeNull();
    expect(Math.abs(found.totalSd / floor_V - 1)).toBeLessThan(0.1);
  });
});

describe("where no peak may be claimed", () => {
  test("refreshed twice a second, a swing of 1.3 Hz folds to 0.7 Hz: none is claimed, with the reason", () => {
    let held = 2.5;
    const text = driveText({
      slosh: 0,
      cells: (i, t, v) => {
        if (i % 10 === 0) held = v + 0.1 * Math.sin(2 * Math.PI * 1.3 * t);
        return [t, held];
      },
    });
    expect(log(text).log.refreshRate_Hz).toBeCloseTo(2, 6);
    const found = noise(text);
    expect(found.sloshFrequency_Hz).toBeNull();
    expect(found.whyNoPeak).toContain("refreshed too slowly");
  });

  test("a tank that is stated to be so long that it sloshes slowly may show it at two readings a second", () => {
    let held = 2.5;
    const text = driveText({
      slosh: 0,
      cells: (i, t, v) => {
        if (i % 10 === 0) held = v + 0.1 * Math.sin(2 * Math.PI * 0.5 * t);
        return [t, held];
      },
    });
    const long = { ...job, tank: { ...job.tank, length_mm: 1500, width_mm: 1200, depth_mm: 250 } };
    const answer = noiseOf([log(text).log], curve, long);
    expect(answer).toMatchObject({ state: "ready" });
    if (answer.state === "ready") expect(answer.value.sloshFrequency_Hz).toBeCloseTo(0.5, 2);
  });

  test("a sharp swing that is a hundredth of the motion is told as too little to matter", () => {
    const wander = createRandom(5);
    let slow = 0;
    const text = driveText({
      slosh: 0,
      cells: (_, t, v) => {
        slow = 0.999 * slow + 0.012 * wander.normal();
        return [t, v + slow + 0.02 * Math.sin(2 * Math.PI * 0.9 * t)];
      },
    });
    const found = noise(text);
    expect(found.sloshFrequency_Hz).toBeNull();
    expect(found.whyNoPeak).toContain("too little");
    expect(found.sloshShare).toBe(0);
  });
});

describe("marked, counted and kept", () => {
  test("spikes: each of 20 is found", () => {
    const found = log(driveText({ cells: (i, t, v) => [t, i % 600 === 300 ? v + 0.8 : v] }));
    expect(found.log.counts.spikes).toBe(20);
    expect(found.log.rows).toBe(12000);
  });

  test("dropouts to the rail: five of a second each", () => {
    const { counts } = log(driveText({ cells: (i, t, v) => [t, i % 2400 > 2380 ? 0 : v] })).log;
    expect(counts.dropouts).toBe(5);
    // The rail is no level at the sender's end.
    expect(counts.atEnd).toBe(0);
  });

  test("beside a dropout of a second, and after zeros before the first answer, no fuel is taken for a spike", () => {
    const dropping = log(driveText({ slosh: 0.5, cells: (i, t, v) => [t, i % 997 > 977 ? 0 : v] })).log.counts;
    expect(dropping.dropouts).toBe(12);
    expect(dropping.spikes).toBe(0);
    // And a spike two seconds from one is still found.
    const both = log(
      driveText({ slosh: 0.5, cells: (i, t, v) => [t, i % 997 > 977 ? 0 : i % 997 === 60 ? v + 1.2 : v] }),
    );
    expect(both.log.counts.spikes).toBe(12);
    const late = log(driveText({ slosh: 0.5, cells: (i, t, v) => [t, i < 100 ? 0 : v] })).log.counts;
    expect(late.notYetAnswered).toBe(100);
    expect(late.spikes).toBe(0);
  });

  test("a float that hangs: each stretch of half a minute is found, and where the first begins", () => {
    let held = 0;
    const found = log(
      driveText({
        cells: (i, t, v) => {
          if (i % 4000 < 2000 || i % 4000 >= 2600) held = v;
          return [t, held];
        },
      }),
    );
    expect(found.log.counts.stuck).toBe(3);
    expect(found.cautions).toContain("drive-log/stuck doubtful");
  });

  test("a coarse converter, a ladder and a parked vehicle stand still without being stuck", () => {
    const coarse = (step: number, slosh: number) =>
      log(driveText({ slosh, cells: (_i, t, v) => [t, step * Math.round(v / step)] })).log.counts.stuck;
    expect(coarse(0.01, 0)).toBe(0);
    expect(coarse(0.25, 1.5)).toBe(0);
    const text = driveText({ cells: (i, t, v) => [t, i >= 4000 && i < 6000 ? 2.25 : v] }).split("\n");
    const parked = text.map((l, i) => (i === 0 ? `${l},speed_kmh` : `${l},${i > 4000 && i <= 6000 ? 0 : 40}`));
    expect(log(parked.join("\n")).log.counts.stuck).toBe(0);
  });

  test("blank cells: counted, and the floor is still right", () => {
    const text = driveText({ cells: (i, t, v) => [t, i % 50 === 7 ? "" : v] });
    expect(log(text).log.counts.blank).toBe(240);
    expect(Math.abs(noise(text).floorSd / floor_V - 1)).toBeLessThan(0.15);
  });

  test("a value held for half a second: the refresh rate is told, and no slosh peak is claimed", () => {
    let held = 2.5;
    const text = driveText({
      cells: (i, t, v) => {
        if (i % 10 === 0) held = v;
        return [t, held];
      },
    });
    expect(log(text).log.refreshRate_Hz).toBeCloseTo(2, 6);
    expect(noise(text).sloshFrequency_Hz).toBeNull();
  });

  test("a gap is a part of its own", () => {
    const { parts } = log(driveText({ cells: (_i, t, v) => [t > 200 ? t + 100 : t, v] })).log;
    const gap = parts.find((p) => p.kind === "gap")!;
    expect(gap.from_s).toBeCloseTo(200, 0);
    expect(gap.to_s).toBeCloseTo(300, 0);
  });

  test("a refuel is found to the second, is no noise and does not cancel the burn", () => {
    const text = driveText({ cells: (_i, t, v) => [t, t > 300 ? v + 1.2 : v] });
    const found = log(text).log;
    expect(Math.abs(found.parts.find((p) => p.kind === "refuelling")!.from_s - 300)).toBeLessThan(2);
    expect(Math.abs(found.burn_L_per_h / 10.286 - 1)).toBeLessThan(0.1);
    expect(noise(text).totalSd).toBeLessThan(1.2 * noise(driveText()).totalSd);
  });

  test("a refuel at a pump takes a minute: it is found from first to last, and is no noise", () => {
    const filled = (t: number) => 1.2 * Math.min(1, Math.max(0, (t - 290) / 60));
    const text = driveText({ cells: (_i, t, v) => [t, v + filled(t)] });
    const part = log(text).log.parts.find((p) => p.kind === "refuelling")!;
    expect(Math.abs(part.from_s - 290)).toBeLessThan(4);
    expect(Math.abs(part.to_s - 350)).toBeLessThan(4);
    expect(noise(text).totalSd).toBeLessThan(1.2 * noise(driveText()).totalSd);
  });

  test("a refuel is found where the flow was logged too, and no hill is taken for one", () => {
    const withFlow = (cells: (i: number, t: number, v: number) => [number, number | ""]) =>
      driveText({ cells })
        .split("\n")
        .map((row, i) => `${row},${i === 0 ? "flow_L_per_h" : "10.286"}`)
        .join("\n");
    const filled = withFlow((_i, t, v) => [t, v + 1.2 * Math.min(1, Math.max(0, (t - 290) / 60))]);
    const found = log(filled);
    const [part, ...others] = found.log.parts.filter((p) => p.kind === "refuelling");
    expect(others).toEqual([]);
    expect(Math.abs(part!.from_s - 290)).toBeLessThan(4);
    expect(Math.abs(part!.to_s - 350)).toBeLessThan(4);
    expect(found.log.burn_L_per_h / 10.286).toBeCloseTo(1, 1);
    expect(found.log.to_L - found.log.from_L).toBeCloseTo((60 / 3.5) * (1.2 - 0.1), 0);
    expect(found.cautions).toEqual([]);
    expect(noise(filled).totalSd).toBeLessThan(1.2 * noise(driveText()).totalSd);

    const hill = log(withFlow((_i, t, v) => [t, v + (t > 200 && t < 320 ? 0.2 : 0)]));
    expect(hill.log.parts.filter((p) => p.kind === "refuelling")).toEqual([]);
  });

  test("jitter of the clock shifts neither rate nor slosh", () => {
    const text = driveText({ cells: (i, t, v) => [t + 0.02 * Math.sin(7.1 * i), v] });
    expect(Math.abs(log(text).log.sampleRate_Hz / 20 - 1)).toBeLessThan(0.005);
    expect(Math.abs(noise(text).sloshFrequency_Hz! / slosh_Hz - 1)).toBeLessThan(0.05);
  });

  test("stamps of whole seconds are spread and said", () => {
    const found = log(driveText({ cells: (_i, t, v) => [Math.floor(t), v] }));
    expect(found.log.sampleRate_Hz).toBeCloseTo(20, 1);
    expect(found.cautions).toEqual(["drive-log/repeated-stamps note"]);
  });
});
