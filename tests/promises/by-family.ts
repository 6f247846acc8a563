/** The scores by family of jobs, and all of them as text. */
import { columns, type Line, present, share, two } from "./lines";
import type { JobScore } from "./measure";
import type { Hardness } from "./report";
import { mean, quantile } from "./score";

export interface FamilyLine {
  family: string;
  jobs: number;
  twoPoint: number;
  raw: number;
  table: number;
  least: number;
  band: number;
  halfWidth: number;
  service: number;
  faults: string;
  falseFlags: number;
  steady: string;
  shown: number;
  crashes: number;
}

export function byFamily(scores: JobScore[]): FamilyLine[] {
  return [...new Set(scores.map((s) => s.family))].sort().map((family) => {
    const of = scores.filter((s) => s.family === family);
    const middle = (x: (number | null | undefined)[]) => quantile(present(x), 0.5);
    const roads = present(of.map((s) => s.road));
    const faults = present(of.map((s) => s.faults));
    const total = (pick: (f: (typeof faults)[number]) => number) => faults.reduce((a, f) => a + pick(f), 0);
    return {
      family,
      jobs: of.length,
      twoPoint: middle(of.map((s) => s.twoPointRms)),
      raw: middle(of.map((s) => s.rawRms)),
      table: middle(of.map((s) => s.tableRms ?? s.curveRms)),
      least: middle(of.map((s) => s.leastRms)),
      band: mean(present(of.map((s) => s.band?.share))),
      halfWidth: mean(present(of.map((s) => s.band?.halfWidth))),
      service: mean(present(of.map((s) => s.serviceBand?.share))),
      faults: `${total((f) => f.named)}/${total((f) => f.worthy)}`,
      falseFlags: total((f) => f.falseFlags),
      steady: `${roads.filter((r) => r.reversalsPerMinute <= 2).length}/${roads.length}`,
      shown: middle(roads.map((r) => r.shownRms)),
      crashes: of.filter((s) => s.crashes.length > 0).length,
    };
  });
}

export function printable(lines: Line[], families: FamilyLine[], hard: Hardness): string {
  const rows = [
    ["promise", "jobs", "result", "beside"],
    ...lines.map((l) => [l.promise, String(l.jobs), l.value, l.beside]),
  ];
  const perFamily = [
    [
      "family",
      "jobs",
      "2-point",
      "raw",
      "table",
      "least",
      "band",
      "±",
      "service",
      "named",
      "false",
      "steady",
      "shown",
      "crash",
    ],
    ...families.map((f) => [
      f.family,
      String(f.jobs),
      two(f.twoPoint),
      two(f.raw),
      two(f.table),
      two(f.least),
      share(f.band),
      two(f.halfWidth),
      share(f.service),
      f.faults,
      String(f.falseFlags),
      f.steady,
      two(f.shown),
      String(f.crashes),
    ]),
  ];
  return [
    columns(rows),
    "",
    columns(perFamily),
    "",
    `Hard enough? two points ${two(hard.twoPoint)} % (wanted: 8 or more), raw table ${two(hard.raw)} % (wanted: 1.5 or more): ${
      hard.counts ? "yes, the scores count" : "NO, the scores do not count"
    }.`,
  ].join("\n");
}
