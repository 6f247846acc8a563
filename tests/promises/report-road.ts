/** What the harness says of the road: steadiness, error, both ends, slosh and floor, the warning. */
import { type Line, present, share, shareLine, spread, two } from "./lines";
import type { JobScore } from "./measure";
import type { RoadScore } from "./measure-road";
import { leastShare, twins } from "./measure-slosh";
import { mean, quantile } from "./score";

export function roadLines(scores: JobScore[]): Line[] {
  const roads = present(scores.map((s) => s.road));
  const refuels = present(scores.map((s) => s.refuel));
  return [
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
  ];
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

export function endLines(scores: JobScore[]): Line[] {
  const roads = present(scores.map((s) => s.road));
  // Without a log no margin is kept for motion: what such ends hide is another question.
  const hidden = present(scores.map((s) => s.road && s.hidden));
  return [
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
  ];
}

export function noiseLines(scores: JobScore[]): Line[] {
  const turns = present(scores.map((s) => s.turning));
  const tilts = present(scores.map((s) => s.tilt && { ...s.tilt, sender: s.sender }));
  const holds = (of: typeof tilts) => of.filter((t) => Math.abs(t.told - t.truth) <= t.half);
  const leaning = turns.filter((t) => Math.abs(t.truth) > 1);
  const noises = present(scores.map((s) => s.noise));
  const peaks = present(noises.map((n) => n.sloshOff));
  const sloshes = present(scores.map((s) => s.slosh));
  const sloshing = sloshes.filter((s) => s.canShow && s.share >= 0.5);
  const well = sloshing.filter((s) => s.showsWell);
  const calm = [
    ...sloshes.filter((s) => !s.canShow || s.share < leastShare).map((s) => ({ kind: "own log", claimed: s.claimed })),
    ...present(sloshes.map((s) => s.twin)).map((t) => ({ kind: t.kind, claimed: t.claimed_Hz !== null })),
  ];
  const floors = present(noises.map((n) => n.floorOff));
  return [
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
      `refreshed four times as often as it swings: ${well.filter((s) => s.off !== null && s.off <= 0.05).length} of ${well.length}`,
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
    shareLine(
      "tilt within its ± (95 % stated)",
      holds(tilts).length,
      tilts.length,
      `told over true, median ${two(
        quantile(
          tilts.map((t) => t.told / t.truth),
          0.5,
        ),
      )}; ± over true, median ${two(
        quantile(
          tilts.map((t) => t.half / Math.abs(t.truth)),
          0.5,
        ),
      )}; ${[...new Set(tilts.map((t) => t.sender))]
        .map((kind) => {
          const of = tilts.filter((t) => t.sender === kind);
          return `${kind} ${holds(of).length} of ${of.length}`;
        })
        .join(", ")}; cannot be told ${noises.length - tilts.length} of ${noises.length}`,
    ),
    shareLine("floor noise within 20 %", floors.filter((f) => Math.abs(f) <= 0.2).length, floors.length),
  ];
}

export function warningLines(scores: JobScore[]): Line[] {
  const low = present(scores.map((s) => s.road?.low));
  const alarms = present(low.map((l) => l.falseAlarmsPerHour));
  const ranges = present(scores.map((s) => s.range));
  const burnsOf = (least: boolean) => present(scores.map((s) => (s.burnIsLeast === least ? s.burnOff : null)));
  const burns = burnsOf(false);
  const least = burnsOf(true);
  return [
    shareLine(
      "warned with less than the reserve left (risk 1 % stated)",
      low.reduce((a, l) => a + l.late, 0),
      low.reduce((a, l) => a + l.drives, 0),
    ),
    spread("false alarms", alarms, "an hour"),
    shareLine(
      "burn of the log within its ± (95 % stated)",
      burns.filter((z) => Math.abs(z) <= 1.96).length,
      burns.length,
    ),
    shareLine(
      "burn “or more” of a log at an end: not under its ±",
      least.filter((z) => z >= -1.96).length,
      least.length,
    ),
    shareLine("range interval covers (95 % stated)", ranges.filter((r) => r.inside).length, ranges.length),
  ];
}
