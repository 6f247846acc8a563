/** What the curve leaf says. */
import type { VolumeWords } from "../../quantity";
import type { Curve } from "../curve-types";
import { curveBeside } from "./beside";
import type { Finding, Phrase, Quantity, WorkingLine } from "./finding";
import {
  counted,
  coverage,
  litres,
  litresPair,
  percent,
  quantity,
  quantityWith,
  unitSign,
  within,
  withoutUnit,
} from "./quantity";
import { volumeText } from "./volume";

const half = (path: string, value: number): Quantity => within(litres(path, value));

export function curveFinding(curve: Curve, from_L: number, to_L: number): Finding {
  const o = curve.overall;
  const band = half("chosenCurve.overall.bandHalfWidth_L", o.bandHalfWidth_L);
  const [from, to] = litresPair(0, [null, from_L], [null, to_L]);
  const sentence: Phrase[] = [
    "Any reading gives the volume within ",
    band,
    ", from ",
    withoutUnit(from),
    " to ",
    to,
    ".",
  ];
  if (o.twoPointError_L > 2 * o.bandHalfWidth_L)
    sentence.push(
      " Two points, the lowest and the highest step, would not do: they would be ",
      litres("chosenCurve.overall.twoPointError_L", o.twoPointError_L),
      " off.",
    );
  else if (curve.points.length > 2)
    sentence.push(
      " The lowest and the highest step alone would be ",
      litres("chosenCurve.overall.twoPointError_L", o.twoPointError_L),
      " off at worst.",
    );
  return {
    question: "Which volume does a reading mean?",
    sentence,
    short: [band],
    condition: [
      coverage("chosenCurve.overall.coverage", o.coverage),
      " of readings, one at a time, on the fill day. On any later day, while the level falls: ",
      half("chosenCurve.overall.serviceHalfWidth_L", o.serviceHalfWidth_L),
      "; what adds up to that stands in the working.",
    ],
    caution: null,
    beside: curveBeside(curve),
  };
}

export function curveWorking(curve: Curve): WorkingLine[] {
  const u = unitSign(curve.readingUnit);
  const o = curve.overall;
  const suffix = curve.readingUnit;
  const withLimits = (...fields: (keyof typeof o)[]): Phrase[] => {
    const [error, lower, upper] = fields.map((f) => litres(`chosenCurve.overall.${f}`, o[f]));
    return [error!, " (", lower!, " to ", upper!, ")"];
  };
  return [
    {
      what: `Explained by: ${curve.chosen.kind}. ${curve.chosen.why}`,
      formula: null,
      figures: curve.chosen.knots.flatMap((k, i): Phrase[] => [
        k.standardError !== null
          ? quantityWith(`chosenCurve.knots.${i}.reading_${suffix}`, k.reading, 1.96 * k.standardError, u)
          : quantity(`chosenCurve.knots.${i}.reading_${suffix}`, k.reading, u, 4),
        " → ",
        quantity(`chosenCurve.knots.${i}.volume_L`, k.volume_L, "L"),
        i + 1 < curve.chosen.knots.length ? "; " : "",
      ]),
      source: "generalised least squares; AICc with three parameters a breakpoint",
    },
    {
      what: "Band and table come from a smooth curve: an integrated random walk with the covariance of the pours, its roughness averaged over",
      formula: "cov(vᵢ, vⱼ) = vᵢ·vⱼ·u_s² + Σ u_p² + K(xᵢ, xⱼ)",
      figures: [
        quantity("chosenCurve.overall.steps", o.steps, "steps", 2),
        ", left over ",
        litres("chosenCurve.overall.residualSd_L", o.residualSd_L),
        " (standard deviation), worst ",
        litres("chosenCurve.overall.worst_L", o.worst_L),
      ],
      source: "Wahba 1983 (from memory); JCGM 100:2008, 5.2",
    },
    {
      what: "One reading taken once on the fill day: the volume then lies within",
      formula: "√(band² + (z·dv/dV·u)²) at the worst reading",
      figures: [
        half("chosenCurve.oneReading.halfWidth_L", curve.oneReading.halfWidth_L),
        "; the reading itself is taken to be off by what its last digit or one sample leaves open, a standard error of ",
        quantity(`chosenCurve.oneReading.reading_${suffix}`, curve.oneReading.reading, u, 2),
      ],
      source: "JCGM 100:2008, 5.1",
    },
    {
      what: "Two points, the lowest and the highest step, and how far that is open with the curve",
      formula: null,
      figures: [
        ...withLimits("twoPointError_L", "twoPointLower_L", "twoPointUpper_L"),
        " off at worst, ",
        ...withLimits("twoPointRms_L", "twoPointRmsLower_L", "twoPointRmsUpper_L"),
        " root mean square, both ",
        coverage("chosenCurve.overall.coverage", o.coverage),
      ],
      source: "common practice, no source; moments of a quadratic form",
    },
    ...possibilities(curve),
    ...curve.candidates.map(
      (c, i): WorkingLine => ({
        what: c.name,
        formula: null,
        figures: [
          "worst step ",
          litres(`curves.${i}.worst_L`, c.worst_L),
          ", residual ",
          litres(`curves.${i}.residualSd_L`, c.residualSd_L),
          ", AICc ",
          counted(`curves.${i}.aicc`, c.aicc, 1),
          ", BIC ",
          counted(`curves.${i}.bic`, c.bic, 1),
          ", leave-one-out ",
          litres(`curves.${i}.looError_L`, c.looError_L),
          ...c.breakpoints.flatMap((b, j): Phrase[] => {
            const path = `curves.${i}.breakpoints.${j}.`;
            const span = [
              quantity(`${path}lower_${suffix}`, b.lower, u),
              " to ",
              quantity(`${path}upper_${suffix}`, b.upper, u),
            ];
            if (b.lower === b.upper) return [", kink typed at ", quantity(`${path}reading_${suffix}`, b.reading, u)];
            return b.standardError === null
              ? [", a break that the points do not place, anywhere from ", ...span]
              : [", break at ", quantity(`${path}reading_${suffix}`, b.reading, u), ", from ", ...span, " (95\u00a0%)"];
          }),
        ],
        source: c.kind === "piecewise" ? "global search; profile-likelihood interval" : null,
      }),
    ),
    ...(curve.robust
      ? [
          {
            what: `A line that no single step can pull lies this close to ${curve.robust.against === "line" ? "the straight line" : "the line through the divider"}; further apart than most steps scatter, a few steps pull it`,
            formula: "median of the slopes between all pairs of steps",
            figures: [
              "largest distance ",
              quantity("chosenCurve.robustLine.apart_L", curve.robust.apart_L, "L", 2),
              " at ",
              quantity(`chosenCurve.robustLine.reading_${suffix}`, curve.robust.reading, u, 3),
            ],
            source: "Theil 1950, Sen 1968 (from memory)",
          },
        ]
      : []),
    ...curve.tests.map(
      (t, i): WorkingLine => ({
        what: `${t.name}: ${t.means}`,
        formula: null,
        figures: [
          "statistic ",
          quantity(`residuals.tests.${i}.statistic`, t.statistic, ""),
          ...(t.p === null ? [] : [", p ", quantity(`residuals.tests.${i}.p`, t.p, "", 2)]),
        ],
        source: t.source,
      }),
    ),
    ...curve.budget.map(
      (b, i): WorkingLine => ({
        what: `${b.day === "fill" ? "On the fill day" : "On a later day"}: ${b.part}${b.assumed ? " (assumed)" : ""}`,
        formula: b.why ?? null,
        figures: [litres(`chosenCurve.budget.${i}.standard_L`, b.standard_L), " standard uncertainty at mid range"],
        source: b.assumed && b.why === undefined ? "named default, no source" : null,
      }),
    ),
  ];
}

/** Where it is not known what the run is, how that enters curve and band; nothing to say of a single state. */
function possibilities(curve: Curve): WorkingLine[] {
  const { serviceStates, overall } = curve;
  if (serviceStates.length < 2) return [];
  const likeliest = serviceStates.reduce((best, s, k) => (s.chance > serviceStates[best]!.chance ? k : best), 0);
  return [
    {
      what: "What the run may be (a fault or none, an end step on the curve or hidden by the stop, a bend of the tank) is weighed: at each reading the curve is as likely too high as too low, and the band leaves out as much above as below",
      formula: "Σ wₖ·Φ((v − mₖ)/sₖ) = p",
      figures: [
        counted(null, serviceStates.length, 0, "possibilities"),
        ", the likeliest ",
        percent(`chosenCurve.possibilities.${likeliest}`, serviceStates[likeliest]!.chance, 0),
        "; the band leaves out ",
        percent(null, (1 - overall.coverage) / 2),
        " on either side",
      ],
      source: "quantiles of the mixture (derived here); equal tails as in JCGM 101:2008, 7.7",
    },
  ];
}

/** The widest band with the sheet as written and as it is treated, as texts; null where both say the same. */
export function bandsBeside(
  curve: Pick<Curve, "asWritten" | "overall">,
  volume: VolumeWords,
): { asWritten: string; now: string } | null {
  if (!curve.asWritten) return null;
  const asWritten = volumeText(curve.asWritten.bandHalfWidth_L, volume);
  const now = volumeText(curve.overall.bandHalfWidth_L, volume);
  return asWritten === now ? null : { asWritten, now };
}
