/** A log with parked minutes: counted over the minutes in which the vehicle moves. */
import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { createRandom } from "../../src/math/random";
import { atDeviceRate, minutesOf } from "../../src/pipeline/device-record";
import { textOf } from "../../src/pipeline/words/all";
import { displayFinding } from "../../src/pipeline/words/display";
import { trialFinding } from "../../src/pipeline/words/trial";
import { runExample, sourceFile } from "./example-run";

/** The drive of the example with so many minutes in front of it and behind it, in which the vehicle stands and the fuel with it. */
const parkedFor = (before_min: number, after_min: number) =>
  runExample("moor-runner", (sources) => {
    const [header, ...rows] = new TextDecoder().decode(sources.files.drives[0]!.bytes).trim().split("\n");
    const names = header!.split(",");
    const cells = rows.map((r) => r.split(","));
    const interval_s = Number(cells[1]![0]) - Number(cells[0]![0]);
    const random = createRandom(4);
    const stand = (like: string[], minutes: number, from_s: number) =>
      Array.from({ length: Math.round((60 * minutes) / interval_s) }, (_, i) =>
        names.map((name, k) =>
          k === 0
            ? (from_s + i * interval_s).toFixed(3)
            : name.startsWith("speed")
              ? "0"
              : name.startsWith("sender")
                ? (Number(like[k]) + 0.003 * random.normal()).toFixed(4)
                : like[k]!,
        ),
      );
    const shift = 60 * before_min;
    const driven = cells.map((row) => row.map((c, k) => (k === 0 ? (Number(c) + shift).toFixed(3) : c)));
    const end_s = Number(driven[driven.length - 1]![0]) + interval_s;
    const all = [...stand(cells[0]!, before_min, 0), ...driven, ...stand(cells[cells.length - 1]!, after_min, end_s)];
    const text = [names, ...all].map((row) => row.join(",")).join("\n");
    return {
      ...sources,
      files: { ...sources.files, drives: [sourceFile("drive.csv", "drive", new TextEncoder().encode(text))] },
    };
  }).answers;

const driven = runExample("moor-runner").answers;
const stood = parkedFor(6, 12);

describe("parked minutes", () => {
  test("leave the rates of bare reading and of a 1 s filter as they are on the road; counted over all of the log they would be under six tenths", () => {
    const [road, both] = [valueIn(driven.display)!, valueIn(stood.display)!];
    expect(both.parkedMinutes).toBeCloseTo(18, 0);
    expect(both.minutes).toBeCloseTo(road.minutes, 0);
    expect(road.parkedMinutes).toBe(0);
    for (const run of ["bare", "oneSecond"] as const)
      for (const count of ["reversalsPerMinute", "digitChangesPerMinute"] as const)
        expect(both[run][count] / road[run][count]).toBeCloseTo(1, 1);
  });

  test("leave every pair of the trade as steady as it is on the road alone", () => {
    const [road, both] = [valueIn(driven.display)!, valueIn(stood.display)!];
    const restless = road.trade.flatMap((line, k) =>
      line.points.flatMap((p, i) =>
        p.reversalsPerMinute > 3 ? [both.trade[k]!.points[i]!.reversalsPerMinute / p.reversalsPerMinute] : [],
      ),
    );
    expect(restless.length).toBeGreaterThan(10);
    for (const ratio of restless) expect(Math.abs(ratio - 1)).toBeLessThan(0.15);
  });

  test("are told beside the counts, by display and trial, with what the digits did in them", () => {
    const trial = valueIn(stood.trial)!;
    const job = valueIn(stood.job)!;
    expect(trial.parkedMinutes).toBeCloseTo(18, 0);
    expect(trial.byLog[0]!.parkedMinutes).toBe(trial.parkedMinutes);
    expect(trial.bare.parkedDigitChanges).toBeGreaterThan(0);
    expect(textOf(displayFinding(valueIn(stood.display)!, job).condition!)).toMatch(
      /over the \d+\smin in which the vehicle moves; it is parked for another 18\smin/,
    );
    expect(textOf(trialFinding(trial, job).condition!)).toMatch(
      /^Replay of \d+\smin of driving .* in another 18\smin the vehicle is parked, and the digits change \d+ times?:/,
    );
    expect(textOf(trialFinding(valueIn(driven.trial)!, job).condition!)).not.toContain("parked");
  });

  test("of a part of a log lie where the log's own clock has them; under a minute of driving nothing is left out", () => {
    const time_s = Float64Array.from({ length: 3001 }, (_, i) => 100 + i / 10);
    const blank = new Float64Array(3001);
    const columns = { time_s, reading: blank, volume_L: blank, trend_L: blank, mark: new Uint8Array(3001) };
    const even = { reading: blank, first: 0 };
    const log = (from_s: number, to_s: number) => ({
      columns: { ...columns, even, along_g: null, across_g: null, speed_kmh: null, flow_L_per_h: null, supply_V: null },
      startsAt_s: 40,
      parts: [{ kind: "parked" as const, from_s, to_s }],
    });
    const record = atDeviceRate(log(100, 220), 10, null, null);
    expect(record.parked!.indexOf(1)).toBe(601);
    expect(minutesOf(record)).toMatchObject({ parked: 2 });
    expect(atDeviceRate(log(40, 300), 10, null, null).parked).toBeNull();
  });
});
