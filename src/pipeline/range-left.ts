/** Range left: how wrong can it be? Law of propagation first, then Monte Carlo; median and equal tails. */
import { type Answer, type Issue, ready, stuck } from "../answer";
import { normalQuantile } from "../math/distributions";
import { inverseLine } from "../math/inverse-line";
import { monteCarlo, propagate } from "../math/propagate";
import type { Random } from "../math/random";
import { ofDropouts } from "./believed-dropouts";
import { consumptionOf } from "./consumption";
import { volumeAt } from "./curve-lookup";
import type { Curve, VolumeByReading } from "./curve-types";
import type { Display } from "./display";
import { takenAtFirstLight_L } from "./first-light";
import { type Job, unusableOffset_L } from "./job";
import { type LowFuel, serviceStandardAt } from "./low-fuel";
import type { Table } from "./table";

export interface RangeLeft {
  /** At the moment the warning shows. */
  usable_L: number;
  usableLower_L: number;
  usableUpper_L: number;
  range: number;
  rangeLower: number;
  rangeUpper: number;
  unit: "km" | "mi" | "h" | "lap" | "L";
  /** Law of propagation beside it. */
  propagation: { range: number; standard: number; lower: number; upper: number };
  /** The exact limits of the ratio were consumption normal too; no upper one where it may then be as small as none. */
  bothNormal: { lower: number; upper: number | null };
  holdBack_L: number;
  holdBack: number;
  /** What a device adds that compares the rounded figure it shows: its light comes on half a displayed step earlier. Litres, and range at the mean consumption. */
  ifShownCompared: { usable_L: number; range: number };
  budget: { part: string; standard_L: number | null; share: number }[];
  improvements: { what: string; rangeHalfWidth: number }[];
  trials: number;
  /** False where drop-outs that the device takes for fuel leave nothing to promise. */
  promised: boolean;
  /** Coverage of every interval here, as the job asks. */
  coverage: number;
}

/** How the uncertain parts of usable volume and consumption stand. */
interface Inputs {
  /** True usable volume when the warning first shows, litres, and its parts. */
  usable_L: number;
  parts: { part: string; standard_L: number }[];
  perUnit_L: number;
  perUnitStandard_L: number;
}

/**
 * Range left when the warning first shows.
 *
 * Usable volume is normal, cut at zero; consumption is log-normal, so never negative. Median and equal tails, since the ratio is skew.
 *
 * @returns stuck `range-left/no-consumption` without a stated consumption (unless the reserve is in litres), `range-left/always-on` where the light
 *   never goes out.
 * @see JCGM 100:2008, 5.1 for the propagation; JCGM 101:2008, 7 for the Monte Carlo.
 */
export function rangeLeft(
  curve: Curve,
  lowFuel: LowFuel,
  display: Display | null,
  table: Pick<Table, "rows"> | null,
  job: Job,
  seed: number,
): Answer<RangeLeft> {
  const consumption = consumptionOf(job);
  const inLitres = job.reserve.unit === "L" && consumption === null;
  if (!consumption && !inLitres)
    return stuck({
      code: "range-left/no-consumption",
      says: "How much is burnt is not stated, so litres cannot be turned into a range.",
      remedy: "State the consumption and its spread in the job.",
    });
  if (lowFuel.alwaysOn)
    return stuck({
      code: "range-left/always-on",
      says: "The light would always be on, so there is no moment at which it first comes on.",
      remedy: "Mend the warning first, as the low-fuel leaf says.",
    });
  const unit = inLitres ? "L" : consumption!.unit;
  const coverage = job.targets.coverage;
  const cautions: Issue[] = [];
  if (consumption?.assumed)
    cautions.push({
      code: "range-left/spread-assumed",
      says: "How much the consumption varies is not stated; a named default is taken.",
      remedy: "State in the job how much it is give or take from one day to another (one standard deviation).",
      weight: "note",
    });
  if (!display)
    cautions.push({
      code: "range-left/no-drive-log",
      says: "Without a drive log the shown volume is taken as still.",
      remedy: "Bring a drive log.",
      weight: "holds-if",
      condition: "the display is steady",
    });
  if (lowFuel.dropouts) cautions.push(ofDropouts(lowFuel.dropouts));
  const inputs = inputsOf(
    curve,
    lowFuel,
    table,
    job,
    consumption ? consumption.mean : 1,
    consumption ? consumption.standard : 0,
  );
  const z = normalQuantile(0.5 + coverage / 2);
  const draw = (given: Inputs) => {
    const sd = Math.hypot(...given.parts.map((p) => p.standard_L));
    // Log-normal with the stated mean and spread.
    const s2 = Math.log(1 + (given.perUnitStandard_L / given.perUnit_L) ** 2);
    const centre = Math.log(given.perUnit_L) - s2 / 2;
    return (random: Random) => {
      const litres = Math.max(0, given.usable_L + sd * random.normal());
      return litres / Math.exp(centre + Math.sqrt(s2) * random.normal());
    };
  };
  const run = monteCarlo(draw(inputs), { seed, coverage, most: 200_000 });
  const widthWith = (change: Partial<Inputs>) => {
    const r = monteCarlo(draw({ ...inputs, ...change }), { seed, coverage, most: 40_000 });
    return (r.upper - r.lower) / 2;
  };
  const without = (part: string, factor: number) =>
    inputs.parts.map((p) => (p.part === part ? { ...p, standard_L: p.standard_L * factor } : p));
  const sd = Math.hypot(...inputs.parts.map((p) => p.standard_L));
  const law = propagate(([v, c]) => v! / c!, [inputs.usable_L, inputs.perUnit_L], [sd, inputs.perUnitStandard_L]);
  const usableLower_L = Math.max(0, inputs.usable_L - z * sd);
  const volumeShare = law.shares[0] ?? 1;
  return ready(
    {
      usable_L: inputs.usable_L,
      usableLower_L,
      usableUpper_L: inputs.usable_L + z * sd,
      range: run.median,
      rangeLower: run.lower,
      rangeUpper: run.upper,
      unit,
      propagation: {
        range: law.value,
        standard: law.standard,
        lower: law.value - z * law.standard,
        upper: law.value + z * law.standard,
      },
      bothNormal: bothNormal(inputs.usable_L, sd, inputs.perUnit_L, inputs.perUnitStandard_L, z),
      holdBack_L: inputs.usable_L - usableLower_L,
      holdBack: run.median - run.lower,
      ifShownCompared: {
        usable_L: lowFuel.firstLight.halfStep_L,
        range: lowFuel.firstLight.halfStep_L / inputs.perUnit_L,
      },
      budget: [
        ...inputs.parts.map((p) => ({
          part: p.part,
          standard_L: p.standard_L,
          share: sd > 0 ? (volumeShare * p.standard_L ** 2) / sd ** 2 : 0,
        })),
        { part: "consumption from run to run", standard_L: null, share: law.shares[1] ?? 0 },
      ],
      improvements: [
        {
          what: "a repeated fill run",
          rangeHalfWidth: widthWith({ parts: without("curve at this level, on a service day", Math.SQRT1_2) }),
        },
        { what: "a display without slosh", rangeHalfWidth: widthWith({ parts: without("slosh that is left", 0) }) },
        {
          what: "half the spread of consumption",
          rangeHalfWidth: widthWith({ perUnitStandard_L: inputs.perUnitStandard_L / 2 }),
        },
      ],
      trials: run.trials,
      promised: !lowFuel.dropouts?.tooMuch,
      coverage,
    },
    cautions,
  );
}

/**
 * Litres that the curve holds over what the table shows, where it shows `volume_L`: near an end the table leaves the curve on purpose, so that 0 comes
 * up before the pick-up runs dry, and the light with it. Both since the start.
 */
export function overTable_L(curve: VolumeByReading, table: Pick<Table, "rows">, volume_L: number): number {
  const rows = [...table.rows].sort((a, b) => a.volume_L - b.volume_L);
  const above = Math.max(
    1,
    rows.findIndex((r) => r.volume_L >= volume_L),
  );
  const [a, b] = [rows[above - 1], rows[above]];
  // Under its lowest row and over its highest the table shows nothing that a light could wait for.
  if (!a || !b || volume_L < a.volume_L || volume_L > b.volume_L || !(b.volume_L > a.volume_L)) return 0;
  const reading = a.reading + ((volume_L - a.volume_L) / (b.volume_L - a.volume_L)) * (b.reading - a.reading);
  return volumeAt(curve, reading) - volume_L;
}

/**
 * All ranges r with |litres − r·consumption| ≤ z·√(u² + r²·u_c²), under zero cut off: the set that holds the ratio of two independent normal figures as
 * often as `z` says, exact where the law of propagation is of first order.
 *
 * @see Fieller 1954 (from memory). It is the inverse prediction of `inverseLine` on a line through zero whose slope is the consumption.
 */
export function bothNormal(
  litres: number,
  standard_L: number,
  perUnit_L: number,
  perUnitStandard_L: number,
  z: number,
): { lower: number; upper: number | null } {
  const consumption = {
    intercept: 0,
    slope: perUnit_L,
    interceptVariance: 0,
    slopeVariance: perUnitStandard_L ** 2,
    covariance: 0,
  };
  const { agreeing } = inverseLine(consumption, litres, standard_L, z);
  switch (agreeing.kind) {
    case "between":
      return { lower: Math.max(0, agreeing.lower), upper: Math.max(0, agreeing.upper) };
    case "from":
      return { lower: Math.max(0, agreeing.lower), upper: null };
    case "outside":
      // The lower half of it is of a consumption under zero.
      return { lower: Math.max(0, agreeing.from), upper: null };
    case "upTo":
      return { lower: 0, upper: Math.max(0, agreeing.upper) };
    case "unbounded":
      return { lower: 0, upper: null };
  }
}

/** The true usable volume when the light first comes on: what `first-light.ts` says of that moment, where table, smoothing behind it and service day put it. */
function inputsOf(
  curve: Curve,
  lowFuel: LowFuel,
  table: Pick<Table, "rows"> | null,
  job: Job,
  perUnit_L: number,
  perUnitStandard_L: number,
): Inputs {
  const offset = unusableOffset_L(job);
  const light = lowFuel.firstLight;
  const shownAt = lowFuel.warnAtUsable_L + offset.offset_L;
  const more_L = table ? overTable_L(curve, table, shownAt) : 0;
  const serviceBias_L = volumeBias(curve, shownAt + more_L);
  return {
    usable_L: Math.max(
      0,
      lowFuel.warnAtUsable_L +
        more_L +
        serviceBias_L -
        takenAtFirstLight_L(light) -
        (lowFuel.behindTable_L ?? 0) -
        (lowFuel.dropouts?.lift_L ?? 0),
    ),
    parts: [
      { part: "curve at this level, on a service day", standard_L: serviceStandardAt(curve, shownAt + more_L) },
      { part: "slosh that is left", standard_L: light.motionStandard_L },
      { part: "unusable volume", standard_L: offset.standard_L },
      ...(lowFuel.dropouts ? [{ part: "drop-outs taken for fuel", standard_L: lowFuel.dropouts.standard_L }] : []),
      ...(light.turning_L > 0 ? [{ part: "turning course", standard_L: light.turningStandard_L }] : []),
    ],
    perUnit_L,
    perUnitStandard_L,
  };
}

/** Service-day volume less fill-day volume where the fill-day curve reads `volume_L`. */
function volumeBias(curve: Curve, volume_L: number): number {
  const near = curve.grid.reduce((a, b) => (Math.abs(b.volume_L - volume_L) < Math.abs(a.volume_L - volume_L) ? b : a));
  return near.serviceVolume_L - near.volume_L;
}
