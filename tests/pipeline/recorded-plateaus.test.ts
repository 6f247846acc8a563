import { describe, expect, test } from "vitest";
import { findSteps } from "../../src/pipeline/fill-run";
import { resolveJob } from "../../src/pipeline/job";
import { readRecording } from "../../src/pipeline/recording";
import { published } from "../../src/said";

const pours = 8;
const pour_L = 5;
const pourFor_s = 20;
const restFor_s = 60;

/** What a logger knows at one moment: pours begun and done, whether fuel runs, seconds since the last pour began. */
interface Moment {
  begun: number;
  done: number;
  runs: boolean;
  since_s: number;
}

/** A run of eight pours of 5 L at 2 Hz; the reading rises by 0.4 V with each, with slosh that dies down. @param column what stands in the third one. */
function stepsOf(header: string, column: (m: Moment) => string | number, poured = pours) {
  const rows = [`time_s,sender_V,${header}`];
  let start_s = 0;
  for (let i = 0; i <= poured; i++) {
    const pour_s = i === 0 ? 0 : pourFor_s;
    for (let k = 0; k < (pour_s + restFor_s) * 2; k++) {
      const since_s = k / 2;
      const runs = since_s < pour_s;
      const level = runs ? i - 1 + since_s / pour_s : i;
      const slosh = i > 0 && !runs ? 0.02 * Math.exp(-(since_s - pour_s) / 6) * Math.sin(5 * since_s) : 0;
      const noise = 0.002 * Math.sin(1 + 12.9898 * rows.length ** 1.1);
      const at: Moment = { begun: i, done: runs ? i - 1 : i, runs, since_s };
      rows.push(`${start_s + since_s},${(0.5 + 0.4 * level + slosh + noise).toFixed(4)},${column(at)}`);
    }
    start_s += pour_s + restFor_s;
  }
  const job = resolveJob({ pour: { size_L: pour_L } });
  const bytes = new TextEncoder().encode(rows.join("\n"));
  const read = readRecording({ name: "a.csv", kind: "fill", bytes, sha256: "a" }, null);
  if (job.state !== "ready" || read.state !== "ready") throw new Error("job and recording are sound");
  const answer = findSteps([read.value], job.value);
  if (answer.state !== "ready") throw new Error(answer.state === "stuck" ? published(answer.issue.says) : "waits");
  return { steps: answer.value.runs[0]!.steps, codes: answer.cautions.map((c) => c.code) };
}
const told = ({ steps }: ReturnType<typeof stepsOf>) => steps.map((s) => [s.volume_L, Math.round(s.reading * 50) / 50]);
const truth = Array.from({ length: pours + 1 }, (_, i) => [pour_L * i, Math.round((0.5 + 0.4 * i) * 50) / 50]);

describe("a recording whose third column marks the pours", () => {
  test.each<[string, string, (m: Moment) => string | number]>([
    ["a count that goes up when a pour begins", "marker", (m) => m.begun],
    ["a count that begins at one", "marker", (m) => m.begun + 1],
    ["a count that shows -1 while fuel runs", "marker", (m) => (m.runs ? -1 : m.done)],
    ["a count that shows 0 while fuel runs", "marker", (m) => (m.runs ? 0 : m.done)],
    ["a button pressed for a second as each pour begins", "marker", (m) => (m.begun > 0 && m.since_s < 1 ? 1 : 0)],
    ["a contact that is on while fuel runs", "pouring", (m) => (m.runs ? 1 : 0)],
    ["a contact that is off while fuel runs", "marker", (m) => (m.runs ? 0 : 1)],
    ["a mark that changes over with each pour", "marker", (m) => m.begun % 2],
    ["each amount once, blank otherwise", "added_L", (m) => (m.begun > 0 && m.since_s === 0 ? pour_L : "")],
    ["each amount once, 0 otherwise", "added_L", (m) => (m.begun > 0 && m.since_s === 0 ? pour_L : 0)],
    [
      "each amount for two seconds, 0 otherwise, by a name that does not say so",
      "litres",
      (m) => (m.begun > 0 && m.since_s < 2 ? 5 : 0),
    ],
    ["each amount once, by a name that does not say so", "litres", (m) => (m.begun > 0 && m.since_s === 0 ? 5 : "")],
    ["the amount of the last pour, held", "added_L", (m) => (m.begun > 0 ? pour_L : 0)],
    ["the total once after each pour, blank otherwise", "total_L", (m) => (m.since_s === 40 ? pour_L * m.done : "")],
  ])("%s", (_, header, column) => {
    expect(told(stepsOf(header, column))).toEqual(truth);
  });
});

describe("a drive log that was brought as a fill run", () => {
  const driven = (m: Moment) => (m.runs || m.since_s > 40 ? 50 : 0);
  test("is refused where its speed shows it, and names no volumes", () => {
    expect(() => stepsOf("speed_kmh", driven)).toThrow("it is a drive log, no fill run");
    expect(told(stepsOf("speed_kmh", () => 0))).toEqual(truth);
    expect(told(stepsOf("speed_kmh,total_L", (m) => `${driven(m)},${pour_L * m.done}`))).toEqual(truth);
  });
});

describe("a level that no volume was written for", () => {
  const missed = (m: Moment) => pour_L * (m.done > 3 ? m.done - 1 : m.done);

  test("is a step with nothing added, and that is said", () => {
    const run = stepsOf("total_L", missed);
    expect(told(run)).toEqual(truth.map(([v, r], i) => [i > 3 ? v! - pour_L : v, r]));
    expect(run.codes).toContain("fill-run/level-without-volume");
  });

  test("is none where the volume was only written late, nor after the last volume", () => {
    const late = stepsOf("total_L", (m) => pour_L * (m.runs || m.since_s > 50 ? m.done : Math.max(0, m.done - 1)));
    expect(late.codes).not.toContain("fill-run/level-without-volume");
    expect(late.steps.map((s) => s.volume_L)).toEqual(truth.map(([v]) => v));
    const cut = stepsOf("total_L", (m) => pour_L * Math.min(m.done, pours - 1));
    expect(cut.codes).not.toContain("fill-run/level-without-volume");
    expect(told(cut)).toEqual(truth.slice(0, -1));
  });
});
