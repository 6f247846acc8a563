/** Readings of a fill run through a device that smooths, against a first-order filter stepped through the pours. */

import { describe, expect, test } from "vitest";
import type { Issue } from "../../src/answer";
import { smoothingFactor } from "../../src/math/filter";
import { deviceHeldBack, heldBackShare, waitFor_s } from "../../src/pipeline/device-smooths";
import type { FillRun } from "../../src/pipeline/fill-run";
import { type JobInput, resolveJob } from "../../src/pipeline/job";
import { published } from "../../src/said";
import { runExample, sheet } from "./example-run";

const jobOf = (input: JobInput) => {
  const answer = resolveJob(input);
  if (answer.state !== "ready") throw new Error("the job is not ready");
  return answer.value;
};
const run = (kind: FillRun["kind"] = "typed") =>
  ({
    kind,
    direction: "fill",
    steps: Array.from({ length: 13 }, (_, k) => ({ index: k, volume_L: 4 * k, added_L: k === 0 ? 0 : 4 })),
  }) as unknown as FillRun;

describe("a fill run read through a device that smooths", () => {
  test("lacks what a filter stepped through the pours lacks", () => {
    const [tau, wait] = [12, 20];
    // Litres stand for the reading: a pour at once, then the wait, a hundred updates a second.
    let shown = 0;
    for (let pour = 1; pour <= 40; pour++)
      for (let t = 0; t < wait * 100; t++) shown += smoothingFactor(tau, 0.01) * (4 * pour - shown);
    const cautions: Issue[] = [];
    const held = deviceHeldBack(
      run(),
      jobOf({ tank: { capacity_L: 60 }, fill: { deviceTimeConstant_s: tau, wait_s: wait } }),
      cautions,
    );
    expect(held!.volume_L).toBeCloseTo(160 - shown, 6);
    expect(held!.fraction).toBeCloseTo(Math.exp(-20 / 12), 12);
    expect(published(cautions[0]!.says)).toContain("19 % of its move");
    expect(published(cautions[0]!.says)).toContain("0.93\u00a0L behind");
    // 2 % of 60 L are 1.2 L; over a quarter of that the curve is in doubt.
    expect(cautions[0]!.weight).toBe("doubtful");
  });

  test("says nothing after a long wait, asks for the wait where it is not stated, and leaves recordings to their plateaus", () => {
    const cautions: Issue[] = [];
    const patient = jobOf({ fill: { deviceTimeConstant_s: 5, wait_s: waitFor_s(5) } });
    expect(deviceHeldBack(run(), patient, cautions)!.fraction).toBeLessThan(0.01);
    expect(cautions).toEqual([]);
    expect(deviceHeldBack(run(), jobOf({ fill: { deviceTimeConstant_s: 5 } }), cautions)).toBeNull();
    expect(cautions.map((c) => c.code)).toEqual(["fill-run/device-wait"]);
    expect(deviceHeldBack(run("recording"), jobOf({ fill: { deviceTimeConstant_s: 5 } }), cautions)).toBeNull();
    expect(deviceHeldBack(run(), jobOf({}), cautions)).toBeNull();
    expect(heldBackShare(jobOf({ fill: { deviceTimeConstant_s: 0, wait_s: 3 } }))).toBeNull();
    expect(cautions.length).toBe(1);
  });

  test("reaches the analysis, whichever door it came through", () => {
    const { answers } = runExample("moor-runner", (s) => ({
      ...s,
      job: { fill: { deviceTimeConstant_s: 10, wait_s: 20, enteredAs: "added" } },
      files: {
        fills: [
          sheet("added L,reading V", [
            [0, 0.5],
            [4, 1],
            [4, 1.5],
            [4, 2],
            [4, 2.5],
          ]),
        ],
        drives: [],
      },
    }));
    if (answers.fillRun.state !== "ready") throw new Error("no fill run");
    expect(answers.fillRun.value.deviceHeldBack!.fraction).toBeCloseTo(Math.exp(-2), 12);
    expect(answers.fillRun.cautions.map((c) => c.code)).toContain("fill-run/device-smooths");
  });
});
