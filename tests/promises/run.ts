/**
 * Closed loop: `npm run promises -- --seeds 10001-10200 --score --out promises.json`.
 *
 * --seeds A-B   which jobs; --score only takes seeds from 10001 on, --tune (the default) only 1 to 999
 * --no-drives   leaves out the drive logs and all that needs them
 * --minutes N   length of each fresh drive (60)
 * --seed N      one job; with --verbose everything about it
 */
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { parseArgs } from "node:util";
import { makeJob } from "../../datasets/world/job";
import { byFamily, printable } from "./by-family";
import { type JobScore, measureJob } from "./measure";
import { hardness, summarise } from "./report";
import { worst } from "./worst";

const { values: options } = parseArgs({
  options: {
    seeds: { type: "string" },
    seed: { type: "string" },
    tune: { type: "boolean" },
    score: { type: "boolean" },
    "no-drives": { type: "boolean" },
    minutes: { type: "string", default: "60" },
    out: { type: "string" },
    verbose: { type: "boolean" },
  },
});

const [from, to] = (options.seed ? [options.seed, options.seed] : (options.seeds ?? "1-22").split("-")).map(Number) as [
  number,
  number,
];
if (!(from <= to)) fail(`--seeds ${options.seeds} is no range such as 1-22`);
if (options.score && from < 10001) fail("scoring seeds start at 10001");
if (!options.score && to > 999) fail("tuning seeds end at 999; say --score for others");
const minutes = Number(options.minutes);
if (!(minutes > 0)) fail(`--minutes ${options.minutes} is no length`);

const scores: JobScore[] = [];
const started = performance.now();
for (let seed = from; seed <= to; seed++) {
  const { score, run } = measureJob(makeJob(seed), { drives: !options["no-drives"], minutes });
  scores.push(score);
  if (options.verbose) {
    console.log(JSON.stringify(score, null, 1));
    console.log(JSON.stringify({ took_ms: run.took_ms, cautions: run.cautions }, null, 1));
  } else {
    const note =
      score.crashes.length > 0
        ? `  CRASH ${[...new Set(score.crashes.map((c) => `${c.stage}: ${c.says}`))].join("; ")}`
        : "";
    if (process.stderr.isTTY) process.stderr.write(`\rseed ${seed} of ${to}${note ? `${note}\n` : ""}`);
  }
}
if (process.stderr.isTTY) process.stderr.write("\n");

if (!options.seed || !options.verbose) {
  const hard = hardness(scores);
  const lines = summarise(scores);
  const families = byFamily(scores);
  console.log(printable(lines, families, hard));
  const crashed = new Map<string, number[]>();
  for (const s of scores)
    for (const c of s.crashes) {
      const key = `${c.stage}: ${c.says} (${c.where.trim()})`;
      crashed.set(key, [...(crashed.get(key) ?? []), s.seed]);
    }
  for (const [what, seeds] of crashed)
    console.log(`crash in ${what}: seeds ${seeds.slice(0, 12).join(", ")} (${seeds.length})`);
  const stuck = new Map<string, number[]>();
  for (const s of scores)
    for (const c of s.stuck)
      stuck.set(`${c.stage}: ${c.code}`, [...(stuck.get(`${c.stage}: ${c.code}`) ?? []), s.seed]);
  for (const [what, seeds] of stuck)
    console.log(`stuck ${what}: seeds ${seeds.slice(0, 12).join(", ")} (${seeds.length})`);
  // Scoring seeds stay unseen, so that nothing is mended against them: their worst jobs are told on tuning seeds only.
  if (!options.score) for (const w of worst(scores)) console.log(`worst, ${w.what}:\n  ${w.seeds.join("\n  ")}`);
  console.log(`${scores.length} jobs, seeds ${from} to ${to}, ${((performance.now() - started) / 1000).toFixed(0)} s`);
  if (options.out) {
    const commit = execFileSync("git", ["rev-parse", "--short", "HEAD"], { encoding: "utf8" }).trim();
    writeFileSync(
      options.out,
      JSON.stringify(
        {
          date: new Date().toISOString().slice(0, 10),
          commit,
          seeds: [from, to],
          kind: options.score ? "score" : "tune",
          minutes,
          hard,
          lines,
          families,
          scores,
        },
        null,
        1,
      ),
    );
  }
}

function fail(says: string): never {
  console.error(`promises: ${says}`);
  process.exit(2);
}
