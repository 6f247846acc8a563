/** Sender to gauge, by ohms: fits, reversed, which two resistors make it fit, or cannot be done. */
import { fixed, withUnit } from "../format";
import { nearestPreferred } from "../math/preferred-values";

export interface GaugeMatch {
  fits: boolean;
  reversed: boolean;
  seriesOhms: number | null;
  parallelOhms: number | null;
  /** Preferred values (E24) to fit. */
  seriesFitted: number | null;
  parallelFitted: number | null;
  /** Most that either fitted resistor takes with the whole supply across the network, at either end or with the sender's wire off. */
  watts: number | null;
  seriesWatts: number | null;
  parallelWatts: number | null;
  middleOff_fraction: number | null;
  /** Where the needle stands at ¼, ½ and ¾ of the sender's travel. */
  needle: { travel: number; needle: number }[];
  /** The same with the preferred values, ends included; empty where nothing is fitted. */
  needleFitted: { travel: number; needle: number }[];
  says: string;
}

/** Neither as it is nor with resistors: the other way round, too little travel, or too many ohms. */
export const cannotFit = (match: GaugeMatch): boolean =>
  !match.fits && match.seriesOhms === null && match.parallelOhms === null;
/** What is left where no resistor does it. */
export const gaugeRemedy = "Fit a gauge that is made for the sender’s ohms, or another sender.";

/** A sender counts as fitting when both ends lie within this share of the gauge's span. Named default, no source. */
const close = 0.05;
/** Supply of a running vehicle. Common practice, no source. */
const vehicleVolts = 14.4;

/** @param share of the gauge's span that the worse end is off by. */
const fitsWithin = (share: number) =>
  share < 0.005
    ? "The sender fits the gauge as it is."
    : `The sender fits the gauge as it is: the needle ends at most ${fixed(100 * share, 0)} % of the scale beside its marks.`;

/**
 * Network `Rs + R·Rp/(R+Rp)` between sender and gauge; both ends give two equations with one positive solution
 * (derived: with k the ratio of the spans, (1−k)Rp² − k(E+F)Rp − kEF = 0).
 */
export function matchGauge(empty: number, full: number, gaugeEmpty: number, gaugeFull: number): GaugeMatch {
  const travel = full - empty;
  const wanted = gaugeFull - gaugeEmpty;
  const none = {
    seriesOhms: null,
    parallelOhms: null,
    seriesFitted: null,
    parallelFitted: null,
    watts: null,
    seriesWatts: null,
    parallelWatts: null,
    needleFitted: [],
  };
  const needleThrough = (network: (ohms: number) => number, at = [0.25, 0.5, 0.75]) =>
    at.map((t) => ({ travel: t, needle: (network(empty + t * travel) - gaugeEmpty) / wanted }));
  const straight = needleThrough((r) => r);
  const middle = (rows: { needle: number }[]) => Math.abs(rows[1]!.needle - 0.5);
  if (travel * wanted < 0)
    return {
      ...none,
      fits: false,
      reversed: true,
      middleOff_fraction: null,
      needle: straight,
      says: "The sender runs the other way round than the gauge expects: no resistor mends that.",
    };
  if (
    Math.abs(empty - gaugeEmpty) <= close * Math.abs(wanted) &&
    Math.abs(full - gaugeFull) <= close * Math.abs(wanted)
  )
    return {
      ...none,
      fits: true,
      reversed: false,
      middleOff_fraction: middle(straight),
      needle: straight,
      says: fitsWithin(Math.max(Math.abs(empty - gaugeEmpty), Math.abs(full - gaugeFull)) / Math.abs(wanted)),
    };
  const k = wanted / travel;
  if (!(k > 0 && k <= 1))
    return {
      ...none,
      fits: false,
      reversed: false,
      middleOff_fraction: null,
      needle: straight,
      says: `The gauge wants ${fixed(Math.abs(wanted), 0)} Ω of travel and the sender has ${fixed(Math.abs(travel), 0)} Ω: resistors can only shrink a travel, so it cannot be done.`,
    };
  const sum = empty + full;
  const parallel =
    k === 1
      ? Number.POSITIVE_INFINITY
      : (k * sum + Math.sqrt(k * k * sum * sum + 4 * (1 - k) * k * empty * full)) / (2 * (1 - k));
  const beside = (r: number, p: number) => (Number.isFinite(p) ? (r * p) / (r + p) : r);
  const series = gaugeEmpty - beside(empty, parallel);
  if (series < -0.02 * Math.abs(wanted))
    return {
      ...none,
      fits: false,
      reversed: false,
      middleOff_fraction: null,
      needle: straight,
      says: "A resistor across the sender would match the travel, but the sum would still lie too high: it cannot be done.",
    };
  const rs = Math.max(0, series);
  const needle = needleThrough((r) => rs + beside(r, parallel));
  const seriesFitted = rs > 0.5 ? nearestPreferred(rs, "E24") : 0;
  const parallelFitted = Number.isFinite(parallel) ? nearestPreferred(parallel, "E24") : null;
  const needleFitted = needleThrough(
    (r) => seriesFitted + beside(r, parallelFitted ?? Number.POSITIVE_INFINITY),
    [0, 0.25, 0.5, 0.75, 1],
  );
  // The whole supply across the network: more than either resistor takes with a gauge in series. With the sender's wire off all of the current goes
  // through the resistor across it.
  const heat = [empty, full, ...(parallelFitted === null ? [] : [Number.POSITIVE_INFINITY])].map((r) => {
    const shunt = parallelFitted ?? Number.POSITIVE_INFINITY;
    const sender = Number.isFinite(r) ? beside(r, shunt) : shunt;
    const total = seriesFitted + sender;
    const current = total > 0 ? vehicleVolts / total : 0;
    const across = vehicleVolts - current * seriesFitted;
    return {
      series: current ** 2 * seriesFitted,
      parallel: parallelFitted === null ? 0 : across ** 2 / parallelFitted,
    };
  });
  const seriesWatts = Math.max(...heat.map((h) => h.series));
  const parallelWatts = Math.max(...heat.map((h) => h.parallel));
  const off = middle(needle);
  const part = (ohms: number, fitted: number, watts: number) =>
    `${fixed(ohms, 0)} Ω (fit ${fixed(fitted, fitted < 10 ? 1 : 0)} Ω, which takes ${withUnit(watts, "W", 2)} at most)`;
  const parts = [
    ...(parallelFitted === null ? [] : [`${part(parallel, parallelFitted, parallelWatts)} across the sender`]),
    ...(rs > 0.5 ? [`${part(rs, seriesFitted, seriesWatts)} in series`] : []),
  ];
  const [atEmpty, atFull] = [needleFitted[0]!.needle, needleFitted[4]!.needle].map((n) => fixed(100 * n, 0));
  const ends = atEmpty === "0" && atFull === "100" ? "" : `, ${atEmpty} % empty and ${atFull} % full`;
  const stands = needleFitted.slice(1, 4).map((n) => `${fixed(100 * n.needle, 0)} %`);
  return {
    fits: false,
    reversed: false,
    seriesOhms: rs,
    parallelOhms: Number.isFinite(parallel) ? parallel : null,
    seriesFitted,
    parallelFitted,
    watts: Math.max(seriesWatts, parallelWatts),
    seriesWatts,
    parallelWatts,
    middleOff_fraction: off,
    needle,
    needleFitted,
    says: `With ${parts.join(" and ")} both ends fit the gauge; the needle’s middle then stands ${fixed(100 * off, 1)} % of the scale off. With the fitted values it shows ${stands[0]}, ${stands[1]} and ${stands[2]} at ¼, ½ and ¾ of the sender’s travel${ends}. The watts are with the whole supply (${fixed(vehicleVolts, 1)} V) across the resistors, at either end or with the sender’s wire off; a gauge in series leaves them fewer.`,
  };
}
