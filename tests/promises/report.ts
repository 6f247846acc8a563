/** Sums up the scores of many jobs: medians, shares with their intervals, per family, and whether the tanks were hard enough to count. */
import type { JobScore } from "./measure";
import type { RoadScore } from "./measure-road";
import { leastShare, twins } from "./measure-slosh";
import { clopperPearson, mean, quantile } from "./score";

export interface Line {
  promise: string;
  jobs: number;
  value: string;
  /** The figures behind the text. */
  figures: Record<string, number>;
  beside: string;
}

const present = <T>(x: (T | null | undefined)[]): T[] => x.filter((v): v is T => v !== null && v !== undefined);
const two = (x: number) => (Number.isFinite(x) ? (Math.abs(x) >= 100 ? x.toFixed(0) : x.toPrecision(3)) : "–");
const share = (x: number) => `${(100 * x).toFixed(1)} %`;

function spread(promise: string, x: number[], unit: string, beside = ""): Line {
  const figures = { median: quantile(x, 0.5), mean: mean(x), p90: quantile(x, 0.9) };
  return {
    promise,
    jobs: x.length,
    value: `${two(figures.median)} / ${two(figures.mean)} / ${two(figures.p90)} ${unit}`,
    figures,
    beside,
  };
}

function shareLine(promise: string, hits: number, n: number, beside = ""): Line {
  const [lower, upper] = clopperPearson(hits, n);
  return {
    promise,
    jobs: n,
    value: n > 0 ? `${share(hits / n)} (${share(lower)} to ${share(upper)})` : "no case",
    figures: { share: hits / n, lower, upper, hits, n },
    beside,
  };
}

/** Shares of points within jobs: the mean over jobs, its interval from the spread between jobs. */
function coverageLine(promise: string, bands: { share: number; halfWidth: number }[]): Line {
  const shares = bands.map((b) => b.share);
  const middle = mean(shares);
  const sd = Math.sqrt(mean(shares.map((s) => (s - middle) ** 2)) * (shares.length / Math.max(1, shares.length - 1)));
  const half = (1.96 * sd) / Math.sqrt(Math.max(1, shares.length));
  const figures = {
    coverage: middle,
    lower: middle - half,
    upper: Math.min(1, middle + half),
    halfWidth: mean(bands.map((b) => b.halfWidth)),
  };
  return {
    promise,
    jobs: bands.length,
    value: bands.length > 0 ? `${share(middle)} (${share(figures.lower)} to ${share(figures.upper)})` : "no case",
    figures,
    beside: `mean half-width ${two(figures.halfWidth)} % of capacity`,
  };
}

/** Each job with the same weight: its chance as told beside its share of drives. */
function zeroTold(roads: RoadScore[]): Line {
  const told = roads.filter((r) => r.zeroInTimeTold !== null && r.ends.dryDrives > 0);
  const figures = {
    stated: mean(told.map((r) => r.zeroInTimeTold!)),
    is: mean(told.map((r) => r.ends.shownBefore / r.ends.dryDrives)),
  };
  return {
    promise: "low end before dry: mean chance stated, and mean share of a job's drives",
    jobs: told.length,
    value: `${share(figures.stated)}, ${share(figures.is)}`,
    figures,
    beside: "",
  };
}

/** How near the curve and its band come to those of an observer who is told what is really so in the run. */
function knowingLines(scores: JobScore[]): Line[] {
  const both = scores.filter((s) => s.band !== null && s.knowing !== null);
  const width = mean(both.map((s) => s.band!.halfWidth));
  const knowing = mean(both.map((s) => s.knowing!.halfWidth));
  return [
    {
      promise: "fill-day band: mean half-width over that of a knowing observer",
      jobs: both.length,
      value: `${two(width / knowing)} times`,
      figures: { ratio: width / knowing, knowing },
      beside: `knowing ${two(knowing)} % of capacity, covers ${share(mean(both.map((s) => s.knowing!.share)))}`,
    },
    spread(
      "  knowing observer: curve at rest, RMS",
      both.map((s) => s.knowing!.rms),
      "% of capacity",
      `within 0.5 % of the least possible ${share(mean(both.map((s) => (s.knowing!.rms - s.leastRms <= 0.5 ? 1 : 0))))}`,
    ),
    spread(
      "  the same, the container's error known too",
      both.map((s) => s.knowing!.rmsContainerKnown),
      "% of capacity",
      `within 0.5 % of the least possible ${share(mean(both.map((s) => (s.knowing!.rmsContainerKnown - s.leastRms <= 0.5 ? 1 : 0))))}`,
    ),
  ];
}

/** Whether the tanks are hard enough for any score to count. */
export function hardness(scores: JobScore[]): { twoPoint: number; raw: number; counts: boolean } {
  const twoPoint = quantile(
    scores.map((s) => s.twoPointRms),
    0.5,
  );
  const raw = quantile(
    scores.map((s) => s.rawRms),
    0.5,
  );
  return { twoPoint, raw, counts: twoPoint >= 8 && raw >= 1.5 };
}

export function summarise(scores: JobScore[]): Line[] {
  const roads = present(scores.map((s) => s.road));
  const turns = present(scores.map((s) => s.turning));
  const leaning = turns.filter((t) => Math.abs(t.truth) > 1);
  const refuels = present(scores.map((s) => s.refuel));
  const faults = present(scores.map((s) => s.faults));
  const clean = faults.filter((f) => f.clean);
  const sum = (of: (f: (typeof faults)[number]) => number) => faults.reduce((a, f) => a + of(f), 0);
  const worthy = sum((f) => f.worthy);
  const watches = present(scores.map((s) => s.watch));
  const watched = (of: (w: (typeof watches)[number]) => number) => watches.reduce((a, w) => a + of(w), 0);
  const quiet = watches.filter((w) => w.clean);
  const tables = scores.filter((s) => s.tableRms !== null);
  const noises = present(scores.map((s) => s.noise));
  const peaks = present(noises.map((n) => n.sloshOff));
  const sloshes = present(scores.map((s) => s.slosh));
  const sloshing = sloshes.filter((s) => s.canShow && s.share >= 0.5);
  const calm = [
    ...sloshes.filter((s) => !s.canShow || s.share < leastShare).map((s) => ({ kind: "own log", claimed: s.claimed })),
    ...present(sloshes.map((s) => s.twin)).map((t) => ({ kind: t.kind, claimed: t.claimed_Hz !== null })),
  ];
  const floors = present(noises.map((n) => n.floorOff));
  const told = present(scores.map((s) => s.twoPointTold));
  const hidden = present(scores.map((s) => s.hidden));
  const low = present(roads.map((r) => r.low));
  const alarms = present(low.map((l) => l.falseAlarmsPerHour));
  const ranges = present(scores.map((s) => s.range));
  const verdicts = present(scores.map((s) => s.verdict));
  const said = (decision: string) => verdicts.filter((v) => v.decision === decision);
  const lines = [
    shareLine("runs through without a crash", scores.filter((s) => s.crashes.length === 0).length, scores.length),
    spread(
      "curve at rest, RMS (median / mean / 90th percentile)",
      present(scores.map((s) => s.curveRms)),
      "% of capacity",
    ),
    spread(
      "typed table at rest, RMS",
      present(tables.map((s) => s.tableRms)),
      "% of capacity",
      `least possible ${two(
        quantile(
          scores.map((s) => s.leastRms),
          0.5,
        ),
      )}`,
    ),
    spread(
      "typed table at rest on the service day, RMS",
      present(scores.map((s) => s.serviceTableRms)),
      "% of capacity",
    ),
    spread(
      "two points in volts, RMS",
      scores.map((s) => s.twoPointRms),
      "% of capacity",
      "naive",
    ),
    spread(
      "raw per-step table, RMS",
      scores.map((s) => s.rawRms),
      "% of capacity",
      "naive",
    ),
    shareLine(
      "table within 0.5 % of capacity of the least possible",
      tables.filter((s) => s.tableRms! - s.leastRms <= 0.5).length,
      tables.length,
    ),
    coverageLine("fill-day band covers (95 % stated)", present(scores.map((s) => s.band))),
    ...knowingLines(scores),
    coverageLine("service-day band covers (95 % stated)", present(scores.map((s) => s.serviceBand))),
    shareLine("two-point error told within 10 % or 0.2 %", told.filter((t) => t.right).length, told.length),
    shareLine(
      "faults over 5 standard errors found",
      sum((f) => f.found),
      worthy,
    ),
    shareLine(
      "faults over 5 standard errors named rightly",
      sum((f) => f.named),
      worthy,
    ),
    shareLine(
      "clean runs with any flag",
      clean.filter((f) => f.flags > 0).length,
      clean.length,
      `${sum((f) => f.falseFlags)} false flags in all runs`,
    ),
    shareLine(
      "faults raised within one further row",
      watched((w) => w.raised),
      watched((w) => w.worthy),
      `in the very row ${share(watched((w) => w.atOnce) / watched((w) => w.worthy))}; naive, in either row: ${share(watched((w) => w.naiveRaised) / watched((w) => w.worthy))}`,
    ),
    shareLine(
      "clean jobs ever warned while pouring",
      quiet.filter((w) => w.warned).length,
      quiet.length,
      `standing at the end ${quiet.filter((w) => w.standing).length}; naive: ${share(quiet.filter((w) => w.naiveWarned).length / quiet.length)}`,
    ),
    spread(
      "reversals a minute on fresh drives",
      roads.map((r) => r.reversalsPerMinute),
      "a minute",
      `two points, 1 s filter: ${two(
        quantile(
          roads.map((r) => r.naiveReversalsPerMinute),
          0.5,
        ),
      )}`,
    ),
    shareLine("at most 2 reversals a minute", roads.filter((r) => r.reversalsPerMinute <= 2).length, roads.length),
    spread(
      "shown volume on the road, RMS",
      roads.map((r) => r.shownRms),
      "% of capacity",
      `two points, 1 s filter: ${two(
        quantile(
          roads.map((r) => r.naiveShownRms),
          0.5,
        ),
      )}`,
    ),
    spread(
      "shown RMS over the best any smoothing and deadband reach",
      present(roads.map((r) => r.oracle?.ratio)),
      "times",
      `${roads.filter((r) => r.oracle === null).length} drives that none holds steady`,
    ),
    spread(
      "  the same, mean error of the reading on that drive taken off both",
      present(roads.map((r) => r.oracle?.ratioWithoutMean)),
      "times",
      "a best that lives on a bias cancelling its lag is none that could be chosen",
    ),
    shareLine(
      "refuelling rule ticked: 90 % of a refuel within 10 s",
      refuels.filter((r) => r.seconds90 <= 10).length,
      refuels.length,
      `${refuels.filter((r) => r.set).length} set; median ${two(
        quantile(
          refuels.map((r) => r.seconds90),
          0.5,
        ),
      )} s, without ${two(
        quantile(
          refuels.map((r) => r.secondsWithout),
          0.5,
        ),
      )} s; reversals ${two(mean(refuels.map((r) => r.reversalsPerMinute)))} and ${two(mean(refuels.map((r) => r.reversalsWithout)))} a minute`,
    ),
    spread("time constant", present(roads.map((r) => r.timeConstant_s)), "s"),
    spread("deadband", present(roads.map((r) => r.deadband_L)), "L"),
    ...(["empty", "full"] as const).flatMap((end) => {
      const told = roads.filter((r) => r.endsTold);
      const rate = (r: (typeof roads)[number]) => r.ends[`${end}FlickersPerHour`];
      const standing = present(told.map((r) => r.ends[`${end}StandingPerHour`]));
      return [
        shareLine(
          `at most 1 flicker an hour at ${end}, 10 h`,
          told.filter((r) => rate(r) <= 1).length,
          told.length,
          `senders whose ends can be told from a fault; the others ${share(mean(roads.filter((r) => !r.endsTold).map((r) => (rate(r) <= 1 ? 1 : 0))))} of ${roads.length - told.length}`,
        ),
        shareLine(
          `  while the level stands at ${end}`,
          standing.filter((x) => x <= 1).length,
          standing.length,
          `flickers an hour over all: median ${two(quantile(told.map(rate), 0.5))}, 90th percentile ${two(quantile(told.map(rate), 0.9))}`,
        ),
      ];
    }),
    shareLine("shows its low end six minutes after dry", roads.filter((r) => r.showsEmpty).length, roads.length),
    shareLine(
      "drives with the low end shown before dry",
      roads.reduce((a, r) => a + r.ends.shownBefore, 0),
      roads.reduce((a, r) => a + r.ends.dryDrives, 0),
      `at that very moment ${share(roads.reduce((a, r) => a + r.ends.shownAtDry, 0) / roads.reduce((a, r) => a + r.ends.dryDrives, 0))}`,
    ),
    shareLine(
      "jobs with the low end shown before dry in every drive",
      roads.filter((r) => r.ends.shownBefore === r.ends.dryDrives).length,
      roads.length,
    ),
    zeroTold(roads),
    spread(
      "usable when the low end first shows",
      roads.flatMap((r) => r.ends.leftAtFirst),
      "% of capacity",
    ),
    spread(
      "hidden at the empty end",
      hidden.map((h) => h.empty),
      "% of capacity",
    ),
    spread(
      "  of that usable: over a dry pick-up",
      hidden.map((h) => h.emptyUsable),
      "% of capacity",
    ),
    spread(
      "hidden at the full end",
      hidden.map((h) => h.full),
      "% of capacity",
    ),
    shareLine(
      "slosh peak within 5 % of a mode",
      peaks.filter((p) => p <= 0.05).length,
      peaks.length,
      `${noises.length - peaks.length} logs with no peak claimed`,
    ),
    shareLine(
      "slosh peak within 5 % of a mode where half of the variance is slosh; none claimed is a miss",
      sloshing.filter((s) => s.off !== null && s.off <= 0.05).length,
      sloshing.length,
    ),
    shareLine(
      "slosh peak claimed in a drive without one",
      calm.filter((c) => c.claimed).length,
      calm.length,
      ["own log", ...twins]
        .map(
          (kind) =>
            `${kind} ${calm.filter((c) => c.kind === kind && c.claimed).length} of ${calm.filter((c) => c.kind === kind).length}`,
        )
        .join(", "),
    ),
    shareLine(
      "turning course: mean error over 1 % of capacity is told, right sign and within half",
      leaning.filter((t) => Math.abs(t.told - t.truth) <= 0.5 * Math.abs(t.truth)).length,
      leaning.length,
      `told ${two(mean(leaning.map((t) => t.told)))}, is ${two(mean(leaning.map((t) => t.truth)))}; claimed over 1 % where it is under 0.5 %: ${turns.filter((t) => Math.abs(t.truth) < 0.5 && Math.abs(t.told) > 1).length} of ${turns.length}`,
    ),
    shareLine("floor noise within 20 %", floors.filter((f) => Math.abs(f) <= 0.2).length, floors.length),
    shareLine(
      "warned with less than the reserve left (risk 1 % stated)",
      low.reduce((a, l) => a + l.late, 0),
      low.reduce((a, l) => a + l.drives, 0),
    ),
    spread("false alarms", alarms, "an hour"),
    shareLine("range interval covers (95 % stated)", ranges.filter((r) => r.inside).length, ranges.length),
    shareLine("“conforms” was right", said("conforms").filter((v) => v.conforms).length, said("conforms").length),
    shareLine(
      "“does not conform” was right",
      said("does-not-conform").filter((v) => !v.conforms).length,
      said("does-not-conform").length,
    ),
    {
      promise: "verdict: mean probability stated, and share that conforms",
      jobs: verdicts.length,
      value: `${share(mean(verdicts.map((v) => v.probability)))}, ${share(mean(verdicts.map((v) => (v.conforms ? 1 : 0))))}`,
      figures: {
        stated: mean(verdicts.map((v) => v.probability)),
        is: mean(verdicts.map((v) => (v.conforms ? 1 : 0))),
        brier: mean(verdicts.map((v) => (v.probability - (v.conforms ? 1 : 0)) ** 2)),
      },
      beside: `${said("cannot-be-said").length} cannot be said`,
    },
    spread(
      "whole pipeline",
      scores.map((s) => s.took_ms / 1000),
      "s",
    ),
  ];
  return lines;
}

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

export function printable(lines: Line[], families: FamilyLine[], hard: ReturnType<typeof hardness>): string {
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

function columns(rows: string[][]): string {
  const widths = rows[0]!.map((_, c) => Math.max(...rows.map((r) => (r[c] ?? "").length)));
  return rows
    .map((r) =>
      r
        .map((cell, c) => cell.padEnd(widths[c]!))
        .join("  ")
        .trimEnd(),
    )
    .join("\n");
}
