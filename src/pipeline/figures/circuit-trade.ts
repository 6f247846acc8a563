/** Circuit: which pull-up? Noise in litres, span, bend and heat of every preferred value, the fitted one marked. */
import type { Figure, Mark, Panel } from "../../figure/figure";
import { withUnit } from "../../format";
import type { Circuit } from "../circuit";

/** A resistor as it is written on it: 91 Ω, not 91.0. */
const ohms = (value: number): string => `${value}\u00a0Ω`;

/** Null where no pull-up is stated. */
export function pullUpFigure(circuit: Circuit): Figure | null {
  const { trade, fittedPullUp, recommended } = circuit;
  if (trade.length < 2 || !fittedPullUp || !recommended) return null;
  const x = trade.map((o) => o.pullUpOhms);
  const marks = (text: boolean): Mark[] => [
    {
      kind: "vertical",
      x: fittedPullUp.pullUpOhms,
      text: text ? `fitted ${ohms(fittedPullUp.pullUpOhms)}` : "",
      role: "shown",
    },
    ...(recommended.keep
      ? []
      : [
          {
            kind: "vertical" as const,
            x: recommended.pullUpOhms,
            text: text ? `better ${ohms(recommended.pullUpOhms)}` : "",
            role: "curve" as const,
          },
        ]),
  ];
  const panel = (label: string, unit: string, y: number[], first: boolean): Panel => ({
    y: { label, unit, scale: "linear", from: 0, to: null },
    series: [{ kind: "line", role: "curve", name: label, x, y, label: null }],
    marks: marks(first),
    share: 1,
  });
  const noise = trade.map((o) => o.worstNoise_L);
  const panels = [
    ...(noise.every((n) => n !== null) ? [panel("noise, worst level", "L", noise, true)] : []),
    panel(
      "span",
      "V",
      trade.map((o) => o.spanVolts),
      noise.includes(null),
    ),
    panel(
      "bend",
      "%",
      trade.map((o) => 100 * o.bend_fraction),
      false,
    ),
    panel(
      "heat in the sender",
      "mW",
      trade.map((o) => 1000 * o.senderHeat_W),
      false,
    ),
  ];
  return {
    id: "circuit-pull-up",
    finding: recommended.keep
      ? "The fitted pull-up is near the best for the worst level"
      : `A pull-up of ${ohms(recommended.pullUpOhms)} would show the worst level better`,
    x: { label: "pull-up", unit: "Ω", scale: "log", from: x[0]!, to: x[x.length - 1]! },
    panels: panels.map((p) => ({ ...p, share: 1 / panels.length })),
    key: [],
    table: {
      columns: [
        "pull-up, Ω",
        "noise at the worst level, L",
        "span, V",
        "bend, % of span",
        "heat, mW",
        "short circuit, mA",
      ],
      rows: trade.map((o) => [
        o.pullUpOhms,
        o.worstNoise_L,
        o.spanVolts,
        100 * o.bend_fraction,
        1000 * o.senderHeat_W,
        1000 * o.shortCircuit_A,
      ]),
    },
  };
}

/** Where the gauge's needle stands over the sender's travel, with the resistors that would be fitted; null where none are. */
export function needleFigure(circuit: Circuit): Figure | null {
  const match = circuit.gaugeMatch;
  if (!match || match.needleFitted.length === 0) return null;
  const x = match.needleFitted.map((n) => 100 * n.travel);
  const y = match.needleFitted.map((n) => 100 * n.needle);
  return {
    id: "circuit-needle",
    finding: "Between the ends the needle stands off a straight scale",
    x: { label: "sender’s travel", unit: "%", scale: "linear", from: 0, to: 100 },
    panels: [
      {
        y: { label: "needle", unit: "%", scale: "linear", from: null, to: null },
        series: [
          { kind: "line", role: "compare", name: "straight scale", x: [0, 100], y: [0, 100], label: "straight" },
          { kind: "points", role: "plain", name: "with the fitted values", x, y },
        ],
        marks: [{ kind: "gap", x: 50, from: 50, to: y[2]!, text: withUnit(Math.abs(y[2]! - 50), "%", 2) }],
        share: 1,
      },
    ],
    key: [{ role: "plain", text: "needle with the preferred values fitted" }],
    table: { columns: ["travel, %", "needle, %"], rows: x.map((t, i) => [t, y[i]!]) },
  };
}
