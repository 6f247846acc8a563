/**
 * Curve: which volume does a reading mean?
 *
 * Takes the treated steps, fits every candidate by generalised least squares, chooses the explanation (knots) and
 * takes band and table from a smooth monotone curve whose roughness is estimated (integrated random walk, restricted
 * likelihood). Whatever was fitted is handed on as points on a dense grid joined by straight pieces, so that the
 * table, the ends, the plot and the report treat every shape alike.
 */
import { type Answer, type Issue, ready, stuck } from "../answer";
import { risingValues } from "../math/smoothing";
import { say } from "../said";
import type { Choices, CurveShape } from "./choices";
import { supplyReading } from "./coordinate";
import { pointErrorsOn, smoothBand } from "./curve-band";
import { budgetOf } from "./curve-budget";
import { chooseCandidate, fitCandidates } from "./curve-candidates";
import { candidatePoints, pointsOf, statesTogether } from "./curve-inputs";
import { type DayPart, limitsOf, middles, onServiceDay } from "./curve-limits";
import { interpolate } from "./curve-lookup";
import { asksForPieces, fitTyped } from "./curve-typed";
import type { CandidateFit, Curve, CurvePoint } from "./curve-types";
import type { FillRuns } from "./fill-run";
import type { FillJob } from "./job";
import { litresOf } from "./litres";
import { oneReading } from "./one-reading";
import { residualTests } from "./residual-tests";
import { robustLine } from "./robust-line";
import { servicePart } from "./service-day";
import { amountWord } from "./sheet-words";
import { whitenedBy } from "./smooth-problem";
import type { SuspectRun, SuspectSteps, TreatedStep } from "./suspect-steps";
import { levelStepOf, twoPointError, twoPointLimits } from "./two-points";

/** Wanted error in service: as stated, else 2 % of the capacity, else of what was poured (named default, no source). */
export function tolerance_L(job: FillJob, fillRuns: FillRuns): number {
  return job.targets.tolerance_L ?? 0.02 * (job.tank.capacity_L ?? fillRuns.total_L);
}

/**
 * Fits the curve.
 *
 * Where the data can't tell what is so (an end step on the curve or hidden by the sender's stop, a fault or a bend), each is fitted and counts
 * by its chance (methods part 2): the curve is as likely too high as too low, its limits have equal tails.
 *
 * @returns stuck `curve/too-few-steps` under two accepted steps, `curve/flat-reading` if the reading never moves;
 *   cautions when the fit is worse than the stated errors allow, or stands on few steps.
 * @see Wahba 1983 (from memory) for the smooth part; methods part 3 for the choice between candidates.
 */
export function fitCurve(
  suspects: SuspectSteps,
  fillRuns: FillRuns,
  job: FillJob,
  choice: Choices["curve"],
): Answer<Curve> {
  const putIns = suspects.runs.flatMap((r) => r.putIns);
  const points = pointsOf(
    suspects,
    fillRuns,
    (s) => s.accepted,
    (s) => s.treatedVolume_L,
  );
  if (points.length < 2)
    return stuck({
      code: "curve/too-few-steps",
      says: `${points.length === 1 ? "One step is" : "No step is"} left; a curve needs at least two.`,
      remedy: "Pour more steps, or take back steps that were set aside.",
    });
  const readings = points.map((p) => p.step.reading);
  if (!(Math.max(...readings) > Math.min(...readings)))
    return stuck({
      code: "curve/flat-reading",
      says: `All ${points.length} steps read ${readings[0]}: the sender does not move.`,
      remedy: "Check float and wiring, then fill again.",
    });

  // A reading set aside between two others says nothing of the ends: a slip of one digit would stretch the table over fuel never poured.
  const all = fillRuns.runs.flatMap((run, r) =>
    run.steps.flatMap((s, i) => {
      const between = i > 0 && i < run.steps.length - 1;
      return between && !suspects.runs[r]!.steps[i]!.accepted ? [] : [s.reading];
    }),
  );
  const states = statesTogether(suspects, fillRuns);
  const coordinate = suspects.runs.find((r) => r.coordinate)?.coordinate ?? null;
  const [low, high] = [Math.min(...all), Math.max(...all)];
  const band = smoothBand(fillRuns, states, job, low, high, coordinate);
  const errorsOfPoints = pointErrorsOn(fillRuns, points, putIns, job, band);
  const pointsForFit = candidatePoints(points, errorsOfPoints);
  const candidates = fitCandidates(pointsForFit, supplyReading(job, fillRuns));
  const robust = robustLine(pointsForFit, candidates, supplyReading(job, fillRuns));
  const tolerance = tolerance_L(job, fillRuns);
  const asked = asksForPieces(choice);
  const typed = asked ? fitTyped(pointsForFit, choice) : null;
  const shape = typed ? "piecewise" : choice.shape;
  if (typed) candidates.push(typed);
  const { fit, why } = typed
    ? { fit: typed, why: whyTyped(choice) }
    : shape && shape !== "smooth"
      ? byHand(candidates, shape)
      : chooseCandidate(candidates, tolerance, points.length);
  const recommended = middles(band.parts);
  const byShape = shape !== null && shape !== "smooth";
  const shaped = byShape ? band.readings.map((r) => interpolate(fit.points, r, (p) => p.volume_L)) : recommended;
  const sense = fillRuns.sense;
  const monotone = (v: number[]) => (sense > 0 ? risingValues(v) : risingValues([...v].reverse()).reverse());
  const volumes = monotone(shaped);
  // A shape chosen by hand does not get a narrower band: its distance from the smooth curve is added.
  const covariance = band.covariance.map((row, i) =>
    row.map((c, j) => c + (shaped[i]! - band.mean[i]!) * (shaped[j]! - band.mean[j]!)),
  );
  const curveStates = byShape ? [{ chance: 1, mean_L: shaped, covariance_L2: covariance }] : band.states;
  const parts = byShape
    ? shaped.map((mean, i) => [{ weight: 1, mean, standard: Math.sqrt(covariance[i]![i]!) }])
    : band.parts;

  const errors = { scale: fillRuns.scaleStandard, start_L: fillRuns.startStandard_L };
  const service = servicePart(job, fillRuns, band.readings, volumes);
  const coverage = job.targets.coverage;
  const limits = (day: DayPart | null) => {
    const free = limitsOf(parts, errors, day, coverage);
    const lower = monotone(free.map((l) => l.lower_L));
    const upper = monotone(free.map((l) => l.upper_L));
    return free.map((_, i) => ({ lower_L: lower[i]!, upper_L: upper[i]! }));
  };
  const fillLimits = limits(null);
  const serviceLimits = limits(service);
  const grid = band.readings.map((reading, i): CurvePoint => {
    const fillDay = covariance[i]![i]! + (errors.scale * volumes[i]!) ** 2 + errors.start_L ** 2;
    return {
      reading,
      volume_L: volumes[i]!,
      standard_L: Math.sqrt(fillDay),
      ...fillLimits[i]!,
      serviceVolume_L: volumes[i]! + service.bias[i]!,
      serviceStandard_L: Math.sqrt(fillDay + service.covariance[i]![i]!),
      serviceLower_L: serviceLimits[i]!.lower_L,
      serviceUpper_L: serviceLimits[i]!.upper_L,
    };
  });

  const besideSmooth = (): NonNullable<Curve["recommended"]> => {
    const smooth = monotone(recommended);
    const smoothGrid = band.readings.map((reading, i) => ({ reading, volume_L: smooth[i]! }));
    const apart = smooth.map((v, i) => Math.abs(v - volumes[i]!));
    const at = apart.indexOf(Math.max(...apart));
    return {
      shape: "smooth",
      worst_L: Math.max(
        ...points.map((p) => Math.abs(p.volume_L - interpolate(smoothGrid, p.step.reading, (g) => g.volume_L))),
      ),
      bandHalfWidth_L: widest(smooth, limitsOf(band.parts, errors, null, coverage)),
      apart_L: apart[at]!,
      apartAt: band.readings[at]!,
    };
  };

  const cautions: Issue[] = [];
  if (asked && !typed)
    cautions.push({
      code: "curve/knots-not-carried",
      says: `${points.length} steps cannot carry the pieces you asked for (${choice.knots?.length ?? 0} kinks typed, ${choice.free ?? 0} to look for, ${choice.flat?.length ?? 0} flat), so the recommended shape stands here.`,
      remedy:
        "Ask for fewer, with two steps and more on each piece; a flat piece lies between two kinks, or beyond one.",
      weight: "doubtful",
    });
  if (points.length < 5)
    cautions.push({
      code: "curve/few-steps",
      says: `Only ${points.length} steps carry this curve; what the tank does between them is not known.`,
      remedy: "Pour more steps.",
      weight: "doubtful",
    });
  const halfWidth = (g: CurvePoint) => Math.max(g.upper_L - g.volume_L, g.volume_L - g.lower_L);
  const bandAt = grid.reduce((best, g) => (halfWidth(g) > halfWidth(best) ? g : best));
  for (const { run, event } of suspects.runs.flatMap((run) =>
    run.steps.filter((s) => s.decidedBy === "rule").map((event) => ({ run, event })),
  ))
    cautions.push({
      code: "curve/on-trial",
      says: event.reason ?? "A step was treated by rule.",
      weight: "holds-if",
      condition: event.accepted
        ? event.flag === "missed-pour"
          ? `${amountWord(run)} ${event.index} was made`
          : say`${amountWord(run)} ${event.index} was ${litresOf(takenAs_L(run, event))}`
        : `step ${event.index} was misread`,
    });

  const fitted = points.map((p) => interpolate(grid, p.step.reading, (g) => g.volume_L));
  const residuals = points.map((p, i) => p.volume_L - fitted[i]!);
  const whitened = whitenedBy(errorsOfPoints, residuals);
  const whole = pointsOf(
    suspects,
    fillRuns,
    () => true,
    (s) => s.treatedVolume_L,
  );
  const levelStep = levelStepOf(fillRuns.fixedSteps);
  const twoPoint = twoPointError(grid, whole, levelStep);
  const twoPointOpen = twoPointLimits(grid, curveStates, whole, levelStep, coverage);
  const written = suspects.runs.some((r) =>
    r.steps.some((s) => s.flag !== null && s.flag !== "dead-zone" && s.decidedBy !== null),
  )
    ? pointsOf(
        suspects,
        fillRuns,
        (s) => s.atStop === null,
        (s) => s.volume_L,
      )
    : null;
  const asWritten =
    written && written.length >= 2
      ? smoothBand(
          fillRuns,
          [{ chance: 1, points: written, putIns: [], kinks_L: [], shelf: null, noises: null }],
          job,
          low,
          high,
          coordinate,
        )
      : null;
  const order = points.map((_, i) => i).sort((a, b) => readings[a]! - readings[b]!);
  const zoneReading = (end: "empty" | "full") => fillRuns.deadZones.find((d) => d.end === end)?.reading;
  const lowest = grid[sense > 0 ? 0 : grid.length - 1]!.reading;
  const highest = grid[sense > 0 ? grid.length - 1 : 0]!.reading;
  return ready(
    {
      readingUnit: fillRuns.readingUnit,
      sense,
      grid,
      serviceStates: onServiceDay(curveStates, errors, service),
      shape: shape ?? "smooth",
      candidates,
      robust,
      chosen: {
        kind: fit.kind,
        why,
        knots: [
          ...[Math.min(...readings), ...fit.breakpoints.map((b) => b.reading), Math.max(...readings)].map(
            (reading) => ({
              reading,
              volume_L: interpolate(fit.points, reading, (p) => p.volume_L),
              standardError: fit.breakpoints.find((b) => b.reading === reading)?.standardError || null,
            }),
          ),
        ],
      },
      points: points.map((p, i) => ({
        run: p.run,
        step: p.step.index,
        reading: p.step.reading,
        volume_L: p.volume_L,
        fitted_L: fitted[i]!,
        residual_L: residuals[i]!,
        whitened: whitened[i]!,
        standard_L: Math.sqrt(errorsOfPoints.own_L2[i]!),
      })),
      tests: residualTests(
        order.map((i) => whitened[i]!),
        order.map((i) => fitted[i]!),
        whitened,
        points.length - band.freedomUsed,
      ),
      overall: {
        steps: points.length,
        freedom: points.length - band.freedomUsed,
        residualSd_L: Math.sqrt(
          residuals.reduce((s, r) => s + r * r, 0) / Math.max(1, points.length - band.freedomUsed),
        ),
        worst_L: Math.max(...residuals.map(Math.abs)),
        bandHalfWidth_L: halfWidth(bandAt),
        bandAt: bandAt.reading,
        serviceHalfWidth_L: Math.max(
          ...grid.map((g) => Math.max(g.serviceUpper_L - g.volume_L, g.volume_L - g.serviceLower_L)),
        ),
        twoPointError_L: twoPoint.error_L,
        twoPointLower_L: twoPointOpen.lower_L,
        twoPointUpper_L: twoPointOpen.upper_L,
        twoPointRms_L: twoPoint.rms_L,
        twoPointRmsLower_L: twoPointOpen.rmsLower_L,
        twoPointRmsUpper_L: twoPointOpen.rmsUpper_L,
        twoPointAt: twoPoint.at,
        emptyReading: zoneReading("empty") ?? lowest,
        fullReading: zoneReading("full") ?? highest,
        coverage,
      },
      twoPoint: twoPoint.drawn,
      oneReading: oneReading(grid, fillRuns, coverage),
      recommended: shaped === recommended ? null : besideSmooth(),
      asWritten: asWritten
        ? {
            grid: asWritten.readings.map((reading, i) => ({ reading, volume_L: asWritten.mean[i]! })),
            bandHalfWidth_L: widest(asWritten.mean, limitsOf(asWritten.parts, errors, null, coverage)),
          }
        : null,
      budget: budgetOf(covariance, volumes, fillRuns, job, service, states.length > 1),
    },
    cautions,
  );
}

const whyTyped = ({ knots, free }: Choices["curve"]): string =>
  [
    knots?.length ? "You typed these kinks; they stay where they are." : "You asked for these pieces.",
    ...((free ?? 0) > 0 ? ["Those you did not type stand where they leave least over."] : []),
  ].join(" ");

/** Farthest that a band reaches from its curve, litres. */
const widest = (volumes: number[], limits: { lower_L: number; upper_L: number }[]) =>
  Math.max(...limits.map((l, i) => Math.max(l.upper_L - volumes[i]!, volumes[i]! - l.lower_L)));

/** What the pour or draw of a step is taken to have been, litres. */
function takenAs_L({ steps }: SuspectRun, step: TreatedStep): number {
  const before = steps[steps.indexOf(step) - 1];
  return Math.abs(step.treatedVolume_L - (before?.treatedVolume_L ?? 0));
}

function byHand(fits: CandidateFit[], shape: CurveShape): { fit: CandidateFit; why: string } {
  const mine = fits.filter((f) => f.kind === shape);
  const fit = (mine.length ? mine : fits).reduce((a, b) => (b.aicc < a.aicc ? b : a));
  return { fit, why: "You chose this shape." };
}
