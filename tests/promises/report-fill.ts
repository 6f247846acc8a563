/** What the harness says of the fill run: curve, table, band, faults, and what is said while pouring. */
import { coverageLine, type Line, present, share, shareLine, spread, two } from "./lines";
import type { JobScore } from "./measure";
import { mean, quantile } from "./score";

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

export function fillLines(scores: JobScore[]): Line[] {
  const faults = present(scores.map((s) => s.faults));
  const clean = faults.filter((f) => f.clean);
  const sum = (of: (f: (typeof faults)[number]) => number) => faults.reduce((a, f) => a + of(f), 0);
  const worthy = sum((f) => f.worthy);
  const watches = present(scores.map((s) => s.watch));
  const watched = (of: (w: (typeof watches)[number]) => number) => watches.reduce((a, w) => a + of(w), 0);
  const quiet = watches.filter((w) => w.clean);
  const tables = scores.filter((s) => s.tableRms !== null);
  const told = present(scores.map((s) => s.twoPointTold));
  return [
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
    shareLine("its limits hold it, RMS (95 % stated)", told.filter((t) => t.rmsInside).length, told.length),
    shareLine("its limits hold it, largest", told.filter((t) => t.largestInside).length, told.length),
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
  ];
}
