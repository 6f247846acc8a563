/**
 * Sums up runs of the closed loop as the table of RESULTS.md: `npx tsx tests/promises/sum-up.ts [--wanted] a.json,b.json c.json`; `--wanted` leaves
 * the lines of which something was wanted, as in the README.
 *
 * Files are what `--out` wrote. Those joined by a comma are parts of one set, so that a set can be run in halves, one a processor; each set is
 * a column, and what was wanted stands beside it.
 */
import { readFileSync } from "node:fs";
import type { Line } from "./lines";
import type { JobScore } from "./measure";
import { summarise } from "./report";

/** What was wanted of a line; lines without an entry are told for themselves. */
export const wanted: Record<string, string> = {
  "typed table at rest, RMS": "0.65 / 1.0",
  "table within 0.5 % of capacity of the least possible": "75 %",
  "fill-day band covers (95 % stated)": "93 to 97 %",
  "fill-day band: mean half-width over that of a knowing observer": "at most 1.3 times",
  "service-day band covers (95 % stated)": "93 to 97 %",
  "two-point error told within 10 % or 0.2 %": "90 %",
  "faults over 5 standard errors found": "95 %",
  "faults over 5 standard errors named rightly": "90 %",
  "clean runs with any flag": "at most 10 %",
  "faults raised within one further row": "80 %",
  "at most 2 reversals a minute": "95 %",
  "shown RMS over the best any smoothing and deadband reach": "1.15 in the middle, 1.4 at the 90th percentile",
  "refuelling rule ticked: 90 % of a refuel within 10 s": "90 %",
  "at most 1 flicker an hour at empty, 10 h": "95 %",
  "at most 1 flicker an hour at full, 10 h": "95 %",
  "hidden at the empty end": "1 in the middle, 2.5 at the 90th percentile",
  "hidden at the full end": "1 in the middle, 2.5 at the 90th percentile",
  "slosh peak within 5 % of a mode where half of the variance is slosh; none claimed is a miss":
    "90 % where refreshed four times as often",
  "slosh peak claimed in a drive without one": "at most 5 %",
  "floor noise within 20 %": "90 %",
  "warned with less than the reserve left (risk 1 % stated)": "at most 1 %",
  "range interval covers (95 % stated)": "95 %",
};

/** Of one machine and one hour: no promise. */
const left = new Set(["whole pipeline"]);

/** The rows of the table: one a line that any set has a case of; cells are Markdown. */
export function tableOf(sets: { name: string; scores: JobScore[] }[]): string[][] {
  const lines = sets.map(({ scores }) => new Map(summarise(scores).map((l) => [l.promise, l])));
  const rows = [...lines[0]!.keys()]
    .filter((promise) => !left.has(promise) && lines.some((set) => set.get(promise)!.jobs > 0))
    .map((promise) => {
      const of = lines.map((set) => set.get(promise)!);
      return [promise.trim(), wanted[promise] ?? "", ...of.map(cell), besideOf(of)];
    });
  return [["promise", "wanted", ...sets.map((s) => s.name), "beside it"], ...rows];
}

/** The value, and of how many cases where that is not the number of jobs. */
const cell = (line: Line): string =>
  line.jobs === 0 ? "" : "n" in line.figures ? `${line.value} of ${line.figures.n}` : line.value;

function besideOf(lines: Line[]): string {
  const told = lines.filter((l) => l.jobs > 0 && l.beside !== "").map((l) => l.beside);
  return [...new Set(told)].join("; ");
}

if (process.argv[1]?.endsWith("sum-up.ts")) {
  const onlyWanted = process.argv.includes("--wanted");
  const sets = process.argv
    .slice(2)
    .filter((a) => a !== "--wanted")
    .map((argument) => {
      const parts = argument.split(",").map((file) => JSON.parse(readFileSync(file, "utf8"))) as {
        commit: string;
        seeds: [number, number];
        scores: JobScore[];
      }[];
      const commits = new Set(parts.map((p) => p.commit));
      if (commits.size > 1)
        throw new Error(`sum-up: ${argument} are runs of different stages (${[...commits].join(", ")})`);
      const seeds = parts.flatMap((p) => p.seeds);
      return { name: `seeds ${Math.min(...seeds)} to ${Math.max(...seeds)}`, scores: parts.flatMap((p) => p.scores) };
    });
  if (sets.length === 0) throw new Error("sum-up: name the files that --out wrote");
  const rows = tableOf(sets);
  const shown = onlyWanted ? rows.filter((row) => row[1] !== "").map((row) => row.slice(0, -1)) : rows;
  for (const [i, row] of shown.entries()) {
    console.log(`| ${row.join(" | ")} |`);
    if (i === 0) console.log(`|${row.map(() => " --- |").join("")}`);
  }
}
