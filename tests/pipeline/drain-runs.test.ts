/** Drains: alone, into another container, and down to where the pump draws air, against simulated pours and draws. */

import { describe, expect, test } from "vitest";
import { valueIn } from "../../src/answer";
import { createRandom } from "../../src/math/random";
import { noChoices } from "../../src/pipeline/choices";
import { volumeAt } from "../../src/pipeline/curve-lookup";
import { suspectStepsFigure } from "../../src/pipeline/figures/suspect-steps";
import { answersOf, createPipeline } from "../../src/pipeline/index";
import { type JobInput, unusableOffset_L } from "../../src/pipeline/job";
import { drainCovariance, pourCovariance } from "../../src/pipeline/pour-errors";
import { compareRuns } from "../../src/pipeline/several-runs";
import { textOf } from "../../src/pipeline/words/all";
import { fillRunFinding } from "../../src/pipeline/words/fill-run";
import { severalRunsPhrases } from "../../src/pipeline/words/several-runs";
import { suspectStepsFinding, suspectStepsWorking } from "../../src/pipeline/words/suspect-steps";
import { published } from "../../src/said";
import { fileOf, type Row } from "./runs-world";

const pours = 10;
const pour_L = 5;
const errors = { pour_L: 0.05, draw_L: 0.05, scale: 0.02 / Math.sqrt(3), reading_L: 0.05 };
const volts = (litres: number) => 0.5 + 0.05 * litres + 0.0002 * litres * litres;
const file = (rows: Row[], kind: "fill" | "drain") => fileOf(rows, kind, `${kind}.csv`);

/** Poured up with one can and drawn down with one of its own marks; on the way down the sender shows 1 L more, at both ends the float turns. */
function job(seed: number, left_L: number) {
  const random = createRandom(seed);
  const [can, other] = [errors.scale * random.normal(), errors.scale * random.normal()];
  let litres = 0;
  const fill = Array.from({ length: pours + 1 }, (_, k): Row => {
    if (k > 0) litres += pour_L * (1 + can) + errors.pour_L * random.normal();
    return [k === 0 ? 0 : pour_L, volts(litres + errors.reading_L * random.normal())];
  });
  const drain: Row[] = [[0, volts(litres + errors.reading_L * random.normal())]];
  const reads = (loop_L: number) => drain.push([pour_L, volts(litres + loop_L + errors.reading_L * random.normal())]);
  while (litres > left_L + 1.5 * pour_L) {
    litres -= pour_L * (1 + other) + errors.draw_L * random.normal();
    reads(1);
  }
  // The last draw ends where the pump draws air, and is written to a hundredth.
  const last = (litres - left_L - errors.draw_L * random.normal()) / (1 + other);
  litres = left_L;
  reads(0);
  drain[drain.length - 1]![0] = Number(last.toFixed(2));
  return [file(fill, "fill"), file(drain, "drain")];
}
const stated: JobInput = {
  fill: { enteredAs: "added", startedFrom: "drained" },
  pour: { errorPerPour_L: errors.pour_L, scaleErrorLimit: 0.02 },
  drain: { container: "other", scaleErrorLimit: 0.02, errorPerDraw_L: errors.draw_L, endedAt: "pump-draws-air" },
};
const answers = (files: ReturnType<typeof job>, input: JobInput) =>
  createPipeline({ job: input, files: { fills: files, drives: [] }, readings: {}, choices: noChoices }).stages;
function together(files: ReturnType<typeof job>, input: JobInput) {
  const stages = answers(files, input);
  const answer = compareRuns(valueIn(stages.fillRun.read())!, null, valueIn(stages.job.read()));
  if (answer.state !== "ready") throw new Error("should be ready");
  return { value: answer.value!, codes: answer.cautions.map((c) => c.code) };
}

describe("a drain into another container", () => {
  const trials = 300;
  const share = (input: JobInput, holds: (value: ReturnType<typeof together>["value"]) => boolean, left_L = 3) => {
    let count = 0;
    for (let seed = 1; seed <= trials; seed++) if (holds(together(job(seed, left_L), input).value)) count++;
    return count / trials;
  };
  const same: JobInput = { ...stated, drain: { ...stated.drain, container: "same" } };

  test("the loop's interval holds in 95 of 100 jobs, and taken for the same container it does not", () => {
    const holds = (v: ReturnType<typeof together>["value"]) => v.hysteresisLower_L! <= -1 && -1 <= v.hysteresisUpper_L!;
    expect(share(stated, holds)).toBeGreaterThan(0.92);
    expect(share(same, holds)).toBeLessThan(0.75);
  });

  test("what the pick-up leaves is known within what both containers' marks and all pours and draws allow", () => {
    const holds = (v: ReturnType<typeof together>["value"]) =>
      Math.abs(v.unusable_L! - 3) <= 1.96 * v.unusableStandard_L!;
    const inside = share(stated, holds);
    expect(inside).toBeGreaterThan(0.92);
    expect(inside).toBeLessThan(0.98);
    expect(share(same, holds)).toBeLessThan(0.75);
  });

  test("its two litres do not close exactly: √(n·u_p² + m·u_d² + F²·u_s² + D²·u_s'² + readings)", () => {
    const input: JobInput = { ...stated, drain: { ...stated.drain, endedAt: "drained" } };
    const inside = share(input, (v) => v.closure_L === null || Math.abs(v.closure_L) <= v.closureLimit_L!, 0);
    expect(inside).toBeGreaterThan(0.92);
    const { closureStandard_L } = together(job(1, 0), input).value;
    const marks = Math.hypot(50 * errors.scale, 50 * errors.scale);
    expect(closureStandard_L!).toBeGreaterThan(marks);
    expect(closureStandard_L!).toBeLessThan(1.3 * marks);
  });
});

describe("drained until the pump drew air", () => {
  test("with one can by hand: √(10·0.05² + 10·0.05² + (3·0.02/√3)²), said with its interval, and held against the job", () => {
    const random = createRandom(4);
    const fill = Array.from({ length: 11 }, (_, k): Row => [k === 0 ? 0 : 5, volts(5 * k + 0.01 * random.normal())]);
    const drawn = [0, 5, 5, 5, 5, 5, 5, 5, 5, 5, 2];
    const drain = drawn.map((d, j): Row => {
      const left = 50 - drawn.slice(0, j + 1).reduce((sum, v) => sum + v, 0);
      return [d, volts(left + 0.5)];
    });
    const files = [file(fill, "fill"), file(drain, "drain")];
    const { container: _, ...drainStated } = stated.drain!;
    const { value, codes } = together(files, { ...stated, drain: drainStated });
    expect(value.unusable_L).toBeCloseTo(3, 9);
    expect(value.unusableStandard_L).toBeCloseTo(Math.sqrt(20 * 0.0025 + (3 * 0.02) ** 2 / 3), 9);
    expect(textOf(severalRunsPhrases(value))).toMatch(/Until the pump drew air the pick-up left 3\.00\s±\s0\.44\sL/u);
    expect(codes).toContain("several-runs/unusable-differs");
    expect(together(files, { ...stated, drain: drainStated, tank: { unusable_L: 3.2 } }).codes).not.toContain(
      "several-runs/unusable-differs",
    );
    // Where the fill began, or the drain ended, is not stated: nothing is said.
    expect(
      together(files, { ...stated, fill: { enteredAs: "added" }, drain: drainStated }).value.unusable_L,
    ).toBeNull();
    expect(together(files, { ...stated, drain: {} }).value.unusable_L).toBeNull();
  });
});

describe("a drain run alone", () => {
  const random = createRandom(9);
  const draws = 12;
  const rows = Array.from(
    { length: draws + 1 },
    (_, j): Row => [j === 0 ? 0 : 4, volts(4 * (draws - j)) + 0.001 * random.normal()],
  );
  const stages = answers([file(rows, "drain")], {
    fill: { enteredAs: "added", startedFrom: "pick-up-dry" },
    pour: { errorPerPour_L: 0.05 },
    tank: { capacity_L: 50 },
  });

  test("may be written as what is left or with a minus, and gives the same steps; a slip among them is refused with its line", () => {
    const steps = (text: (drawn_L: number, k: number) => string, entered?: "added" | "cumulative") => {
      const lines = rows.map(([, reading], k) => `${text(4 * k, k)};${reading.toFixed(3)}`).join("\n");
      const bytes = new TextEncoder().encode(`volume (L);reading (V)\n${lines}\n`);
      const { fillRun } = answers([{ name: "drain.csv", kind: "drain", bytes, sha256: "" }], {
        ...(entered ? { fill: { enteredAs: entered } } : {}),
        pour: { errorPerPour_L: 0.05 },
      });
      return fillRun.read();
    };
    const volumes = (answer: ReturnType<typeof steps>) => valueIn(answer)!.runs[0]!.steps.map((s) => s.volume_L);
    const drawn = volumes(steps((litres) => `${litres}`, "cumulative"));
    expect(drawn).toEqual(Array.from({ length: draws + 1 }, (_, k) => 4 * k));
    const left = steps((litres) => `${50 - litres}`);
    expect(volumes(left)).toEqual(drawn);
    expect(left.state === "ready" && left.cautions.map((c) => c.code)).toContain("fill-run/what-is-left");
    expect(volumes(steps((litres) => `${-litres}`))).toEqual(drawn);
    expect(volumes(steps((_, k) => (k === 0 ? "0" : "-4"), "added"))).toEqual(drawn);
    const slip = steps((litres, k) => (k === 5 ? "49" : `${50 - litres}`), "cumulative");
    expect(slip.state === "stuck" && [slip.issue.where?.row, published(slip.issue.says)]).toEqual([
      7,
      "drain.csv, line 7: the volume goes up, from 34.00 to 49.00 L, in a drain run.",
    ]);
    const back = steps((litres, k) => (k === 5 ? "9" : `${litres}`), "cumulative");
    expect(back.state === "stuck" && published(back.issue.says)).toBe(
      "drain.csv, line 7: the volume goes down, from 16.00 to 9.00 L, in a drain run.",
    );
  });

  test("counts back from its end, where the volumes are known best", () => {
    const { runs, sense } = valueIn(stages.fillRun.read())!;
    expect(sense).toBe(1);
    expect(runs[0]!.steps.map((s) => [s.index, s.volume_L, s.line])).toEqual(
      Array.from({ length: draws + 1 }, (_, k) => [k, 4 * k, draws + 2 - k]),
    );
    const counted = Array.from({ length: draws + 1 }, (_, k) => ({
      draws: draws - k,
      drawn_L: 48 - 4 * k,
      volume_L: 4 * k,
    }));
    const formula = drainCovariance(
      counted,
      { pour_L: 0, draw_L: 0.05, scale: 0, start_L: 0 },
      { anchor: "pump-draws-air" },
    );
    pourCovariance(runs[0]!).forEach((row, i) => {
      row.forEach((c, j) => {
        expect(c).toBeCloseTo(formula[i]![j]!, 12);
      });
    });
  });

  test("gives the curve of the tank, with no loop to take off on a falling level", () => {
    const curve = valueIn(stages.curve.read())!;
    for (const litres of [4, 14, 30, 44]) expect(Math.abs(volumeAt(curve, volts(litres)) - litres)).toBeLessThan(0.3);
    for (const g of curve.grid) expect(g.serviceVolume_L).toBe(g.volume_L);
    expect(stages.suspectSteps.read()).toMatchObject({ state: "ready", value: { runs: [{ events: [] }] } });
    expect(answersOf({ stages } as ReturnType<typeof createPipeline>).table.state).toBe("ready");
  });

  const missing = rows.filter((_, j) => j !== 6);
  const input: JobInput = {
    fill: { enteredAs: "added" },
    drain: { errorPerDraw_L: 0.05 },
    tank: { capacity_L: 50, unusable_L: 2, unusableLimit_L: 0.5 },
  };
  const at = (endedAt: "pump-draws-air" | "drained" | "unknown") =>
    answers([file(rows, "drain")], { ...input, drain: { ...input.drain, endedAt } });

  test("ended where the pump drew air: 0 usable litres at its end, with no doubt of the start left in the band", () => {
    const job = valueIn(at("pump-draws-air").job.read())!;
    expect(unusableOffset_L(job)).toMatchObject({ offset_L: 0, standard_L: 0 });
    expect(valueIn(at("pump-draws-air").fillRun.read())!.startStandard_L).toBe(0);
    const emptied = at("drained");
    expect(unusableOffset_L(valueIn(emptied.job.read())!)).toMatchObject({
      offset_L: 2,
      standard_L: 0.5 / Math.sqrt(3),
    });
    expect(valueIn(emptied.fillRun.read())!.startStandard_L).toBe(0);
    expect(valueIn(at("unknown").fillRun.read())!.startStandard_L).toBeGreaterThan(0);
    // Beside a fill run the start is the fill's own, whatever the drain did.
    const beside = answers(job0(), { ...input, drain: { endedAt: "pump-draws-air" } });
    expect(valueIn(beside.job.read())!.fill.startedFrom).toBe("unknown");
  });

  test("the band at the end is what the readings leave, and widens upward with the draws", () => {
    const { grid } = valueIn(at("pump-draws-air").curve.read())!;
    const half = (g: (typeof grid)[number]) => (g.upper_L - g.lower_L) / 2;
    const near = (litres: number) =>
      grid.reduce((a, b) => (Math.abs(b.volume_L - litres) < Math.abs(a.volume_L - litres) ? b : a));
    const unknown = valueIn(at("unknown").curve.read())!.grid.reduce((a, b) => (b.volume_L < a.volume_L ? b : a));
    // An unknown end adds its own 0.5 % of 48 L over √3, and nothing else.
    expect(near(0).standard_L).toBeCloseTo(Math.sqrt(unknown.standard_L ** 2 - 0.24 ** 2 / 3), 2);
    // 95 % of √(11·0.05² + (44·0.01/√3)²) at 44 L.
    expect(half(near(44))).toBeGreaterThan(1.8 * Math.hypot(Math.sqrt(11) * 0.05, (44 * 0.01) / Math.sqrt(3)));
  });

  test("speaks of draws and of litres drawn, never of pours", () => {
    const stages = answers([file(missing, "drain")], {
      ...input,
      drain: { errorPerDraw_L: 0.05, endedAt: "pump-draws-air" },
    });
    const suspects = valueIn(stages.suspectSteps.read())!;
    const words = textOf(suspectStepsFinding(suspects).sentence);
    expect(words).toMatch(
      /^Draw\s6\sis probably missing from the sheet: every step over it sits\s[34]\.\d.*\sL\slow, and one draw is/u,
    );
    const figure = suspectStepsFigure(suspects, valueIn(stages.curve.read())!);
    const filled = fillRunFinding(valueIn(stages.fillRun.read())!, suspects);
    expect(textOf(filled.sentence)).toContain("drawn in all");
    const cautions = (["fillRun", "suspectSteps", "curve", "table", "ends"] as const).flatMap((name) => {
      const answer = stages[name].read();
      return answer.state === "ready"
        ? answer.cautions.map((c) => [c.says, c.remedy ?? "", c.condition ?? ""].map(published).join(" "))
        : [];
    });
    const all = [
      words,
      textOf(suspectStepsFinding(suspects).condition),
      ...suspectStepsWorking(suspects).map((w) => `${published(w.what)} ${w.formula}`),
      textOf(filled.sentence),
      JSON.stringify(figure),
      ...cautions,
    ].join("\n");
    expect(all).not.toMatch(/\bpour/i);
  });
});

/** Poured up and drawn down by the same hand, and a draw that is not on the sheet. */
function job0(left?: number) {
  const random = createRandom(9);
  const fill = Array.from({ length: 13 }, (_, k): Row => [k === 0 ? 0 : 4, volts(4 * k) + 0.001 * random.normal()]);
  const drain = Array.from(
    { length: 13 },
    (_, j): Row => [j === 0 ? 0 : 4, volts(4 * (12 - j)) + 0.001 * random.normal()],
  ).filter((_, j) => j !== left);
  return [file(fill, "fill"), file(drain, "drain")];
}

describe("a draw that is not on the sheet of a drain beside a fill run", () => {
  const stages = answers(job0(6), {
    fill: { enteredAs: "added", startedFrom: "drained" },
    pour: { errorPerPour_L: 0.05 },
  });
  const suspects = valueIn(stages.suspectSteps.read())!;

  test("is taken off every later step, where the tank really held less", () => {
    const drained = suspects.runs[1]!;
    expect(drained.events.map((e) => [e.kind, e.step, e.amount_L])).toEqual([["missed-pour", 6, -4]]);
    for (const s of drained.steps) expect(s.treatedVolume_L).toBeCloseTo(s.volume_L - (s.index >= 6 ? 4 : 0), 9);
    expect(drained.events[0]!.seenStandard_L).toBeLessThan(0.6);
  });

  test("is told as a draw, with the side that the written litres are off to", () => {
    expect(textOf(suspectStepsFinding(suspects).sentence)).toMatch(
      /^drain\.csv: Draw\s6\sis probably missing from the sheet: every step from there on sits\s[34]\.\d.*\sL\shigh, and one draw is/u,
    );
    expect(published(suspects.runs[1]!.events[0]!.says)).toMatch(/^Draw 6 .* high\.$/);
  });
});

describe("a float that hangs while fuel is drawn", () => {
  /** Row `hung` shows what the row before it showed; rows from full to empty. */
  const drawnWhileHanging = (seed: number, hung: number): Row[] => {
    const random = createRandom(seed);
    const rows = Array.from({ length: 16 }, (_, k): Row => {
      const litres = 60 - 4 * k + 0.02 * random.normal();
      return [k === 0 ? 0 : 4, Number((volts(litres) + 0.004 * random.normal()).toFixed(3))];
    });
    rows[hung]![1] = rows[hung - 1]![1];
    return rows;
  };
  const input: JobInput = {
    tank: { capacity_L: 62 },
    fill: { enteredAs: "added", startedFrom: "drained" },
    pour: { size_L: 4, errorPerPour_L: 0.02, scaleErrorLimit: 0.005 },
    drain: { endedAt: "drained" },
  };

  test("alone: told at the row that repeats, with the draw that it missed", () => {
    for (const [seed, hung] of [
      [71, 5],
      [72, 8],
      [73, 11],
    ] as const) {
      const suspects = valueIn(answers([file(drawnWhileHanging(seed, hung), "drain")], input).suspectSteps.read())!;
      const { events } = suspects.runs[0]!;
      // Steps of a drain alone are counted from its end.
      expect(events.map((e) => [e.kind, e.step])).toEqual([["hung-float", 15 - hung]]);
      expect(published(events[0]!.says)).toContain("the reading repeated while 4.0 L were drawn");
    }
  });

  test("beside a fill run: likewise, at the draw by its own number", () => {
    const random = createRandom(74);
    const fill = Array.from({ length: 16 }, (_, k): Row => {
      const litres = 4 * k + 0.02 * random.normal();
      return [k === 0 ? 0 : 4, Number((volts(litres) + 0.004 * random.normal()).toFixed(3))];
    });
    const files = [file(fill, "fill"), file(drawnWhileHanging(75, 7), "drain")];
    const { events } = valueIn(answers(files, input).suspectSteps.read())!.runs[1]!;
    expect(events.map((e) => [e.kind, e.step])).toEqual([["hung-float", 7]]);
  });
});
