/** Curve: volume over reading with its band, the steps by what became of them, the two-point line, and what is left over. */
import type { Figure, PointSeries } from "../../figure/figure";
import { normalQuantile } from "../../math/distributions";
import { inLitres, type VolumeWords } from "../../quantity";
import type { Curve } from "../curve-types";
import { allOnStop } from "../on-stop";
import type { SuspectSteps } from "../suspect-steps";
import { coverageText, unitSign } from "../words/quantity";
import { volumeText } from "../words/volume";
import { becameOf, inDoubt, probablyOnStop } from "./suspect-steps";

/** How the line through two points fares, by what is known of the curve: clearly off, off by more than the band is wide, or within it. */
function findingOf({ overall }: Curve, volume: VolumeWords): string {
  const { twoPointError_L: off_L, bandHalfWidth_L } = overall;
  if (off_L > 2 * bandHalfWidth_L) return "The curve bends away from the line through two points";
  return off_L > bandHalfWidth_L
    ? `The line through two points runs up to ${volumeText(off_L, volume)} off the curve`
    : "The curve stays near the line through two points";
}

export function curveFigure(curve: Curve, suspects: SuspectSteps, volume: VolumeWords = inLitres): Figure {
  const u = unitSign(curve.readingUnit);
  const grid = curve.grid;
  const steps = suspects.runs.flatMap((r) => r.steps);
  const onStop = new Set(allOnStop(suspects).map((o) => o.step));
  // The same step has the same mark here as in the other figures: what is set aside is crossed out, by rule or by hand.
  const became = (what: ReturnType<typeof becameOf>) => steps.filter((s) => becameOf(s) === what);
  const good = became("accepted");
  const left = became("left");
  const trial = became("trial");
  const doubted = [...left, ...trial];
  const aside = became("set-aside");
  const points = (role: PointSeries["role"], name: string, list: typeof steps, labels: boolean): PointSeries => ({
    kind: "points",
    role,
    name,
    x: list.map((s) => s.reading),
    y: list.map((s) => s.treatedVolume_L),
    labels: list.map((s) => (labels ? String(s.index) : null)),
  });
  const { ends, gap } = curve.twoPoint;
  const stands = (p: Curve["points"][number]) =>
    [...onStop].some((s) => s.index === p.step && suspects.runs[p.run]?.steps.includes(s));
  const onTrial = (p: Curve["points"][number]) =>
    suspects.runs[p.run]?.steps.some((s) => s.index === p.step && doubted.includes(s)) === true;
  const x = grid.map((g) => g.reading);
  const { coverage } = curve.overall;
  const z = normalQuantile(0.5 + coverage / 2);
  const sure = coverageText(coverage);
  return {
    id: "curve",
    finding: findingOf(curve, volume),
    x: { label: "reading", unit: u, scale: "linear", from: null, to: null },
    panels: [
      {
        y: { label: "added since the start", unit: "L", scale: "linear", from: null, to: null },
        series: [
          {
            kind: "band",
            name: `${sure} band on the fill day`,
            x,
            lower: grid.map((g) => g.lower_L),
            upper: grid.map((g) => g.upper_L),
            label: null,
          },
          {
            kind: "line",
            role: "compare",
            name: "two points",
            x: ends.map((e) => e.reading),
            y: ends.map((e) => e.volume_L),
            label: "two points",
          },
          {
            kind: "line",
            role: "curve",
            name: "curve",
            x,
            y: grid.map((g) => g.volume_L),
            label: "curve, with its band",
          },
          points(
            "accepted",
            "accepted",
            good.filter((s) => !onStop.has(s)),
            false,
          ),
          points(
            "plain",
            probablyOnStop,
            good.filter((s) => onStop.has(s)),
            true,
          ),
          points("suspect", "on trial", trial, true),
          points("suspect", inDoubt, left, true),
          points("set-aside", "set aside", aside, true),
        ],
        marks: [
          {
            kind: "gap",
            x: gap.reading,
            from: gap.from_L,
            to: gap.to_L,
            text: `${volumeText(curve.overall.twoPointError_L, volume)} off${gap.halfLevel_L > 0 ? ", with half a level" : ""}`,
          },
        ],
        share: 0.7,
      },
      {
        y: { label: "left over at each step", unit: "L", scale: "linear", from: null, to: null },
        series: [
          {
            kind: "band",
            name: `${sure} band`,
            x,
            lower: grid.map((g) => g.lower_L - g.volume_L),
            upper: grid.map((g) => g.upper_L - g.volume_L),
            label: null,
          },
          leftOver(
            "accepted",
            "left over",
            curve.points.filter((p) => !onTrial(p) && !stands(p)),
            z,
          ),
          leftOver("plain", `left over, ${probablyOnStop}`, curve.points.filter(stands), z),
          leftOver("suspect", "left over, doubted", curve.points.filter(onTrial), z),
        ],
        marks: [],
        share: 0.3,
      },
    ],
    key: [
      { role: "accepted", text: "accepted" },
      ...(onStop.size > 0 ? [{ role: "plain" as const, text: `${probablyOnStop}: counts that much less` }] : []),
      ...(doubted.length
        ? [
            {
              role: "suspect" as const,
              text: [...(trial.length ? ["on trial"] : []), ...(left.length ? [inDoubt] : [])].join(", or "),
            },
          ]
        : []),
      ...(aside.length ? [{ role: "set-aside" as const, text: "set aside" }] : []),
      { role: "band", text: `bars and band: ${sure}` },
    ],
    table: {
      columns: ["step", `reading, ${u}`, "volume, L", "fitted, L", "left over, L", "what became of it"],
      rows: curve.points.map((p) => [
        p.step,
        p.reading,
        p.volume_L,
        p.fitted_L,
        p.residual_L,
        stands(p) ? probablyOnStop : onTrial(p) ? "doubted" : "accepted",
      ]),
    },
  };
}

/** What is left over at some steps, with bars of z standard uncertainties. */
function leftOver(role: PointSeries["role"], name: string, list: Curve["points"], z: number): PointSeries {
  return {
    kind: "points",
    role,
    name,
    x: list.map((p) => p.reading),
    y: list.map((p) => p.residual_L),
    lower: list.map((p) => p.residual_L - z * p.standard_L),
    upper: list.map((p) => p.residual_L + z * p.standard_L),
  };
}
