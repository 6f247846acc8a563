/** The jobs that a stage's owner should look at first: seeds with what went wrong, worst first. */
import type { JobScore } from "./measure";

export function worst(scores: JobScore[], number = 8): { what: string; seeds: string[] }[] {
  const top = (
    what: string,
    of: (s: JobScore) => number | null | undefined,
    least: number,
    say: (s: JobScore) => string,
  ) => ({
    what,
    seeds: scores
      .flatMap((s) => {
        const value = of(s);
        return value !== null && value !== undefined && value >= least ? [{ s, value }] : [];
      })
      .sort((a, b) => b.value - a.value)
      .slice(0, number)
      .map(({ s, value }) => `${s.seed} (${s.family}: ${value.toPrecision(3)}${say(s)})`),
  });
  const told = (s: JobScore) => `; true ${s.trueFaults.join(", ") || "none"}; told ${s.events.join(", ") || "none"}`;
  return [
    top(
      "curve over the least possible, % of capacity",
      (s) => (s.curveRms === null ? null : s.curveRms - s.leastRms),
      1.5,
      told,
    ),
    top(
      "typed table over its curve, % of capacity",
      (s) => (s.tableRms === null || s.curveRms === null ? null : s.tableRms - s.curveRms),
      0.3,
      () => "",
    ),
    top(
      "share outside the fill-day band",
      (s) => (s.band ? 1 - s.band.share : null),
      0.2,
      (s) => ` outside, half-width ${s.band?.halfWidth.toFixed(2)} %`,
    ),
    top(
      "share outside the service band",
      (s) => (s.serviceBand ? 1 - s.serviceBand.share : null),
      0.2,
      (s) => ` outside, half-width ${s.serviceBand?.halfWidth.toFixed(2)} %`,
    ),
    top("faults not named", (s) => (s.faults ? s.faults.worthy - s.faults.named : null), 1, told),
    top("false flags", (s) => s.faults?.falseFlags, 1, told),
    top(
      "reversals a minute",
      (s) => s.road?.reversalsPerMinute,
      2.0001,
      (s) =>
        `; promised ${s.road?.promisedReversals?.toFixed(2)}, τ ${s.road?.timeConstant_s} s, deadband ${s.road?.deadband_L} L`,
    ),
    top(
      "shown RMS on the road over twice the table's service error, % of capacity",
      (s) => (s.road && s.serviceTableRms !== null && s.road.shownRms > 2 * s.serviceTableRms ? s.road.shownRms : null),
      2,
      (s) => `; mean ${s.road?.shownMean.toFixed(2)}, τ ${s.road?.timeConstant_s} s`,
    ),
    top(
      "flickers an hour at empty",
      (s) => s.road?.ends.emptyFlickersPerHour,
      1.0001,
      (s) =>
        `; standing ${s.road?.ends.emptyStandingPerHour?.toFixed(1)}${s.road?.endsTold ? "" : "; ends not told from a fault"}`,
    ),
    top(
      "flickers an hour at full",
      (s) => s.road?.ends.fullFlickersPerHour,
      1.0001,
      (s) =>
        `; standing ${s.road?.ends.fullStandingPerHour?.toFixed(1)}${s.road?.endsTold ? "" : "; ends not told from a fault"}`,
    ),
    top(
      "drives with the low end not shown before dry, share",
      (s) => (s.road ? 1 - s.road.ends.shownBefore / Math.max(1, s.road.ends.dryDrives) : null),
      0.05,
      () => "",
    ),
    top(
      "shown RMS over the best possible",
      (s) => s.road?.oracle?.ratio,
      1.4,
      (s) =>
        `; τ ${s.road?.timeConstant_s?.toFixed(0)} s, deadband ${s.road?.deadband_L?.toFixed(2)} L, best ${s.road?.oracle?.timeConstant_s.toFixed(0)} s and ${s.road?.oracle?.deadband_L.toFixed(2)} L`,
    ),
    top(
      "hidden at the empty end, % of capacity",
      (s) => s.hidden?.empty,
      2.5,
      () => "",
    ),
    top(
      "hidden at the full end, % of capacity",
      (s) => s.hidden?.full,
      2.5,
      () => "",
    ),
    top(
      "floor noise off by",
      (s) => (s.noise?.floorOff == null ? null : Math.abs(s.noise.floorOff)),
      0.2,
      (s) => `; told/true − 1 = ${s.noise?.floorOff?.toFixed(2)}`,
    ),
    top(
      "slosh peak off by",
      (s) => s.noise?.sloshOff,
      0.05,
      (s) =>
        `; told ${s.noise?.sloshFrequency_Hz?.toFixed(2)} Hz, modes ${s.noise?.trueModes_Hz.map((f) => f.toFixed(2)).join(" and ")} Hz`,
    ),
    top(
      "warnings too late, of 3",
      (s) => s.road?.low?.late,
      1,
      (s) => `; usable at warning ${s.road?.low?.usableAtWarning_L.map((v) => v.toFixed(1)).join(", ")} L`,
    ),
    top(
      "false alarms an hour",
      (s) => s.road?.low?.falseAlarmsPerHour,
      0.5,
      () => "",
    ),
    top(
      "range outside its interval",
      (s) => (s.range && !s.range.inside ? 1 : null),
      1,
      (s) => `; ${s.range?.truth.toFixed(1)} km, told ${s.range?.lower.toFixed(1)} to ${s.range?.upper.toFixed(1)}`,
    ),
    top(
      "verdict wrong",
      (s) =>
        s.verdict &&
        ((s.verdict.decision === "conforms" && !s.verdict.conforms) ||
          (s.verdict.decision === "does-not-conform" && s.verdict.conforms))
          ? 1
          : null,
      1,
      (s) =>
        `; ${s.verdict?.decision} at ${s.verdict?.probability.toFixed(2)}, largest ${s.verdict?.largest_L.toFixed(1)} L`,
    ),
    top(
      "seconds for the whole pipeline",
      (s) => s.took_ms / 1000,
      5,
      () => "",
    ),
  ].filter((w) => w.seeds.length > 0);
}
