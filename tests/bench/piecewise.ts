/**
 * Bench of the search of breakpoints on the hard sets: `npm run bench:piecewise`. With R and its package segmented at hand it runs
 * them on the same sets (20 seeds each) and prints sums of squares and CPU beside ours; without, it takes the published figures.
 * `--publish` writes those anew: R's, and the least sum of squares that R, either mode here or, up to 200 points, 100 random starts have reached.
 * segmented fits with equal weights; on the whitened sets its breakpoints are judged by the same whitened sum of squares as ours.
 */
import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { fitAt, fitPrepared, preparePoints, whitener } from "../../src/math/breakpoints";
import { solveCell } from "../../src/math/piecewise-cell";
import { allGaps, exchange } from "../../src/math/piecewise-cells";
import { searchBreaks } from "../../src/math/piecewise-search";
import { createRandom } from "../../src/math/random";
import { type HardSet, hardSets, type Published } from "./piecewise-sets";
import { printRows } from "./signals";

const here = fileURLToPath(new URL(".", import.meta.url));
const publishedAt = join(here, "piecewise-published.json");
const seeds = 20;

const readPublished = (): Published => JSON.parse(readFileSync(publishedAt, "utf8"));

/** CPU of this process so far, seconds. */
const cpu_s = () => (process.cpuUsage().user + process.cpuUsage().system) / 1e6;

/** Sum of squares that counts: whitened where the set has a covariance. */
function judge(set: HardSet, at: number[]): number {
  return fitAt(set.x, set.y, set.covariance ? whitener(set.covariance, set.x.length) : null, at).sse;
}

function runR(sets: HardSet[]): Published | null {
  const folder = mkdtempSync(join(tmpdir(), "piecewise-"));
  sets.forEach((s, i) => {
    const rows = s.x.map((v, j) => `${v},${s.y[j]}`);
    writeFileSync(join(folder, `set${i + 1}.csv`), ["x,y", ...rows].join("\n"));
  });
  writeFileSync(join(folder, "k.csv"), sets.map((s) => s.k).join("\n"));
  const run = spawnSync("Rscript", [join(here, "piecewise.R"), folder, String(seeds)], { encoding: "utf8" });
  rmSync(folder, { recursive: true });
  if (run.error && "code" in run.error && run.error.code === "ENOENT") return null;
  // R without the package, or cut short: that must not pass for a machine without R.
  if (run.error || run.status !== 0)
    throw new Error(`Rscript ended with ${run.status ?? run.signal}: ${run.error?.message ?? run.stderr}`);
  return { ...readR(run.stdout, sets), date: new Date().toISOString().slice(0, 10) };
}

/** What the R script printed. */
function readR(text: string, sets: HardSet[]): Omit<Published, "date"> {
  const fits = sets.map(() => ({ cpu: [] as number[], sse: [] as (number | null)[] }));
  let program = "";
  for (const line of text.split("\n")) {
    const [what, ...rest] = line.trim().split(/\s+/);
    if (what === "version") program = `R ${rest[0]}.${rest[1]}, segmented ${rest[2]}`;
    if (what !== "fit") continue;
    const i = Number(rest[0]) - 1;
    fits[i]!.cpu.push(Number(rest[2]));
    const at = rest.slice(4).map(Number);
    fits[i]!.sse.push(rest[3] === "NA" ? null : judge(sets[i]!, at));
  }
  return {
    program,
    sets: fits.map((f, i) => {
      const good = f.sse.filter((v) => v !== null);
      const least = good.length > 0 ? Math.min(...good) : null;
      return {
        name: sets[i]!.name,
        least,
        first: f.sse[0] ?? null,
        cpu_s: [...f.cpu].sort((a, b) => a - b)[f.cpu.length >> 1]!,
        fits: good.length,
        best: least ?? Number.POSITIVE_INFINITY,
      };
    }),
  };
}

function ours(set: HardSet, mode: "exact" | "fast"): { sse: number; cpu: number } {
  const start = cpu_s();
  const { products, points, l } = preparePoints(set.x, set.y, set.covariance)!;
  const found = searchBreaks(products, points, l === null, set.k, 2, mode)!;
  const cpu = cpu_s() - start;
  return { sse: judge(set, found.at.map(products.unscale)), cpu };
}

/** Least of many random starts, each improved one breakpoint at a time: slow, and independent of how the search finds its starts. */
function scattered(set: HardSet, starts: number): number {
  const { products } = preparePoints(set.x, set.y, set.covariance)!;
  const walk = { products, least: 2 };
  const gaps = allGaps(walk);
  const random = createRandom(1);
  let least = Number.POSITIVE_INFINITY;
  for (let t = 0; t < starts; t++) {
    const picked: number[] = [];
    while (picked.length < set.k) {
      const g = gaps[random.below(gaps.length)]!;
      if (picked.every((p) => Math.abs(p - g) >= 2)) picked.push(g);
    }
    picked.sort((a, b) => a - b);
    const fit = solveCell(products, picked, Number.POSITIVE_INFINITY);
    if (!fit) continue;
    const found = exchange(walk, gaps, { ...fit, gaps: picked }, 1);
    least = Math.min(least, judge(set, found.at.map(products.unscale)));
  }
  return least;
}

/** Program and machine have warmed up: R has its packages loaded, this one its functions compiled. */
function warmUp(sets: HardSet[]): void {
  for (const set of sets.slice(0, 13))
    fitPrepared(preparePoints(set.x, set.y, set.covariance)!, set.k, { search: "fast" });
}

const sets = hardSets();
const fresh = runR(sets);
const publish = process.argv.includes("--publish");
const known = publish && fresh ? fresh : readPublished();
if (!fresh) console.log("R with segmented is not here: its published figures stand beside ours.");
const beside = fresh ?? known;
warmUp(sets);
const rows = sets.map((set, i) => {
  const r = beside.sets[i]!;
  const exact = ours(set, "exact");
  const fast = ours(set, "fast");
  known.sets[i]!.best = Math.min(known.sets[i]!.best, exact.sse, fast.sse, r.least ?? Number.POSITIVE_INFINITY);
  if (publish && set.x.length <= 200) known.sets[i]!.best = Math.min(known.sets[i]!.best, scattered(set, 100));
  const best = known.sets[i]!.best;
  const against = (sse: number | null) =>
    sse === null ? "none" : `1 + ${Math.max(0, sse / best - 1).toExponential(1)}`;
  return {
    task: set.name,
    result: `exact ${against(exact.sse)} in ${exact.cpu.toFixed(3)} s; fast ${against(fast.sse)} in ${fast.cpu.toFixed(3)} s`,
    beside: `R: default seed ${against(r.first)}, least of ${r.fits} ${against(r.least)}, ${r.cpu_s.toFixed(2)} s; CPU ratio fast/R ${(fast.cpu / r.cpu_s).toFixed(2)}`,
  };
});
console.log(`Sums of squares over the least known; CPU seconds. ${beside.program}, ${beside.date}.`);
console.log(printRows(rows));
if (publish && fresh) writeFileSync(publishedAt, `${JSON.stringify(known, null, 2)}\n`);
