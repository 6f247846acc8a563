import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { recipeOf } from "../../datasets/examples";
import { simulateDrive } from "../../datasets/world/drive";
import { createTank } from "../../datasets/world/tank";
import { driveCsv } from "../../datasets/world/write";
import { valueIn } from "../../src/answer";
import { createRandom } from "../../src/math/random";
import { noChoices } from "../../src/pipeline/choices";
import { createPipeline } from "../../src/pipeline/index";
import type { SourceFile } from "../../src/pipeline/recording";
import { displayFinding } from "../../src/pipeline/words/display";
import { driveLogFinding } from "../../src/pipeline/words/drive-log";
import type { Phrase } from "../../src/pipeline/words/finding";
import { trialFinding } from "../../src/pipeline/words/trial";

const folder = new URL("../../datasets/moor-runner/", import.meta.url);
const bytesOf = (name: string) => new Uint8Array(readFileSync(new URL(name, folder)));
const source = (name: string, kind: SourceFile["kind"], bytes: Uint8Array): SourceFile => ({
  name,
  kind,
  bytes,
  sha256: name,
});

/** Another drive of the same buggy: on a lane, or over rough ground. */
function drive(style: "road" | "rough", seed: number): Uint8Array {
  const recipe = recipeOf("moor-runner");
  const tank = createTank(recipe.tank);
  const record = simulateDrive(
    tank,
    recipe.sender,
    recipe.circuit,
    recipe.serviceDay,
    { ...recipe.drive, style, spikesPerMinute: 0, dropoutsPerMinute: 0 },
    { seconds: 900, rate_Hz: 20, from_L: 0.6 * tank.capacity_L, least_L: 0 },
    createRandom(seed),
  );
  return new TextEncoder().encode(driveCsv(record, recipe.circuit, false));
}
const files = {
  "lane.csv": drive("road", 5),
  "moor.csv": drive("rough", 6),
};

function run(names: (keyof typeof files)[]) {
  const { stages } = createPipeline({
    job: JSON.parse(new TextDecoder().decode(bytesOf("job.json"))),
    files: {
      fills: [source("fill.csv", "fill", bytesOf("fill.csv"))],
      drives: names.map((n) => source(n, "drive", files[n])),
    },
    readings: {},
    choices: noChoices,
  });
  const [logs, display, trial, job] = [
    valueIn(stages.driveLog.read()),
    valueIn(stages.display.read()),
    valueIn(stages.trial.read()),
    valueIn(stages.job.read()),
  ];
  if (!logs || !display || !trial || !job) throw new Error("several-logs: a stage is not ready");
  return { logs, display, trial, job };
}
const plain = (phrases: Phrase[]) => phrases.map((p) => (typeof p === "string" ? p : p.text)).join("");

describe("several drive logs", () => {
  const both = run(["lane.csv", "moor.csv"]);
  const wanted = both.job.targets.displayReversalsPerMinute;

  test("are all held by the settings, and not only on the mean", () => {
    expect(both.display.met).toBe(true);
    expect(both.display.byLog.map((l) => l.file)).toEqual(["lane.csv", "moor.csv"]);
    for (const l of [...both.display.byLog, ...both.trial.byLog])
      expect(l.reversalsPerMinute).toBeLessThanOrEqual(wanted);
  });

  test("need as much smoothing as the roughest, in whatever order they are brought", () => {
    const alone = [run(["lane.csv"]), run(["moor.csv"])];
    let compared = 0;
    for (const option of both.display.options) {
      const needed = alone.map(({ display }) => {
        const same = display.options.find((o) => Math.abs(o.deadband_L - option.deadband_L) < 1e-9);
        return same?.timeConstant_s ?? Number.POSITIVE_INFINITY;
      });
      expect(option.timeConstant_s ?? Number.POSITIVE_INFINITY).toBe(Math.max(...needed));
      compared++;
    }
    expect(compared).toBeGreaterThan(4);
    const turned = run(["moor.csv", "lane.csv"]);
    expect(turned.display.timeConstant_s).toBe(both.display.timeConstant_s);
    expect(turned.display.deadband_L).toBe(both.display.deadband_L);
  });

  test("with too little smoothing of one's own the trial names the log that is worst, and judges by it", () => {
    const { stages } = createPipeline({
      job: JSON.parse(new TextDecoder().decode(bytesOf("job.json"))),
      files: {
        fills: [source("fill.csv", "fill", bytesOf("fill.csv"))],
        drives: [source("lane.csv", "drive", files["lane.csv"]), source("moor.csv", "drive", files["moor.csv"])],
      },
      readings: {},
      choices: { ...noChoices, display: { timeConstant_s: 1.5, deadband_L: 0 } },
    });
    const answer = stages.trial.read();
    if (answer.state !== "ready") throw new Error("several-logs: the trial is not ready");
    const { byLog, worstLog } = answer.value;
    expect(byLog[worstLog]!.file).toBe("moor.csv");
    expect(byLog[worstLog]!.reversalsPerMinute).toBeGreaterThan(wanted);
    expect(answer.cautions.find((c) => c.code === "trial/unsteady")?.says).toContain("moor.csv, the worst of 2 logs");
    expect(plain(trialFinding(answer.value, both.job).sentence)).toMatch(/still dances.*2 logs moor\.csv is the worst/);
  });

  test("are each told of, and the worst is named where the settings are", () => {
    const told = plain(driveLogFinding(both.logs).sentence);
    expect(told).toContain("lane.csv: in");
    expect(told).toContain("moor.csv: in");
    const worst = both.display.byLog.reduce((a, b) => (b.reversalsPerMinute > a.reversalsPerMinute ? b : a)).file;
    expect(plain(displayFinding(both.display, both.job).sentence)).toContain(`Of the 2 logs ${worst} is the worst`);
    expect(plain(displayFinding(run(["lane.csv"]).display, both.job).sentence)).not.toContain("is the worst");
  });
});

describe("a log that tells nothing beside one that does", () => {
  const lines = new TextDecoder().decode(files["moor.csv"]).trimEnd().split("\n");
  const csv = (rows: string[]) => new TextEncoder().encode(`${rows.join("\n")}\n`);
  // 40 s of it, and the same drive with its reading at a rail all the time.
  const short = csv(lines.slice(0, 1 + 40 * 20));
  const railed = csv(
    lines.map((line, k) => {
      const cells = line.split(",");
      return [cells[0], k === 0 ? cells[1] : (4.97 + 0.01 * (k % 2)).toFixed(2), ...cells.slice(2)].join(",");
    }),
  );
  const answers = (drives: SourceFile[]) => {
    const { stages } = createPipeline({
      job: JSON.parse(new TextDecoder().decode(bytesOf("job.json"))),
      files: { fills: [source("fill.csv", "fill", bytesOf("fill.csv"))], drives },
      readings: {},
      choices: noChoices,
    });
    return stages;
  };
  const lane = source("lane.csv", "drive", files["lane.csv"]);
  const alone = answers([lane]);

  test.each([
    ["short.csv", short, /short\.csv is left out .* rest on lane\.csv: it holds 40\ss of driving/],
    ["rail.csv", railed, /rail\.csv is left out .* rest on lane\.csv: nearly all of it stands at an end/],
  ] as const)("%s is told and left out: settings, ends and trial are those of the other alone", (name, bytes, told) => {
    const stages = answers([source(name, "drive", bytes), lane]);
    const logs = stages.driveLog.read();
    if (logs.state !== "ready") throw new Error("the logs are not read");
    expect(logs.value.map((l) => l.file)).toEqual([name, "lane.csv"]);
    expect(logs.cautions.filter((c) => c.code === "drive-log/not-counted").map((c) => String(c.says))).toEqual([
      expect.stringMatching(told),
    ]);
    for (const stage of ["display", "ends", "trial", "noise"] as const)
      expect(valueIn(stages[stage].read() as never), stage).toEqual(valueIn(alone[stage].read() as never));
  });

  test("alone it counts as before", () => {
    const logs = answers([source("short.csv", "drive", short)]).driveLog.read();
    expect(logs.state === "ready" && logs.cautions.some((c) => c.code === "drive-log/not-counted")).toBe(false);
  });
});
