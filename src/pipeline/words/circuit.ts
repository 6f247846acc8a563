/** What the circuit leaf says. */
import type { Circuit } from "../circuit";
import type { ReadingUnit } from "../job";
import type { Finding, Phrase, WorkingLine } from "./finding";
import { counted, quantity, unitSign } from "./quantity";

export function circuitFinding(circuit: Circuit): Finding {
  const sentence: Phrase[] = [];
  if (circuit.spanVolts !== null && circuit.emptyVolts !== null && circuit.fullVolts !== null)
    sentence.push(
      "Yes: the travel shows as ",
      quantity("circuit.spanVolts", circuit.spanVolts, "V"),
      ", from ",
      quantity("circuit.emptyVolts", circuit.emptyVolts, "V"),
      " empty to ",
      quantity("circuit.fullVolts", circuit.fullVolts, "V"),
      " full. ",
    );
  else sentence.push("The readings of the fill run are all that is known of the circuit. ");
  if (circuit.twoPointBend_L !== null)
    sentence.push(
      "The divider alone bends a line through two points by ",
      quantity("circuit.twoPointBend_L", circuit.twoPointBend_L, "L", 2),
      ".",
    );
  return {
    question: "Does the circuit show the whole travel?",
    sentence,
    short: circuit.spanVolts === null ? ["as read"] : [quantity("circuit.spanVolts", circuit.spanVolts, "V")],
    condition:
      circuit.senderHeat_W === null
        ? []
        : [
            "In the sender at most ",
            quantity("circuit.senderHeat_W", 1000 * circuit.senderHeat_W, "mW", 2),
            "; a short would carry ",
            quantity("circuit.shortCircuit_A", 1000 * (circuit.shortCircuit_A ?? 0), "mA", 2),
            ".",
          ].map((p) => (typeof p === "string" ? p : { ...p, path: null })),
    // What heat and current do not prove is a caution of the stage, so that the command line says it too, and it is said once.
    caution: null,
  };
}

export function circuitWorking(circuit: Circuit, unit: ReadingUnit): WorkingLine[] {
  const u = unitSign(unit);
  return [
    {
      what: "The divider",
      formula: "V = (Vs·R + Vg·Rp) / (R + Rp); bend (√(Rmax+Rp) − √(Rmin+Rp)) / (√(Rmax+Rp) + √(Rmin+Rp))",
      figures:
        circuit.twoPointBend_fraction === null
          ? []
          : [quantity("circuit.twoPointBend_fraction", circuit.twoPointBend_fraction, "of the span", 3)],
      source: "Ohm's law; closed form derived",
    },
    ...(circuit.faultLow !== null && circuit.faultHigh !== null
      ? [
          {
            what: "A reading outside is a fault, not fuel",
            formula: null,
            figures: [
              "below ",
              quantity(`circuit.faultLow_${unit}`, circuit.faultLow, u),
              ", above ",
              quantity(`circuit.faultHigh_${unit}`, circuit.faultHigh, u),
            ],
            source: "named default, no source",
          },
        ]
      : []),
    ...circuit.bestPullUps.map(
      (o, i): WorkingLine => ({
        what: `Pull-up ${o.pullUpOhms} Ω (${o.series})`,
        formula: null,
        figures: [
          "span ",
          quantity(`circuit.bestPullUps.${i}.spanVolts`, o.spanVolts, "V"),
          ", bend ",
          quantity(`circuit.bestPullUps.${i}.bend_fraction`, o.bend_fraction, "of the span", 2),
          ", heat ",
          quantity(`circuit.bestPullUps.${i}.senderHeat_W`, o.senderHeat_W, "W", 2),
        ],
        source: "IEC 60063",
      }),
    ),
    ...circuit.budget.map(
      (b, i): WorkingLine => ({
        what: `${b.part}${b.cancels ? " (constant: inside the curve)" : ""}`,
        formula: null,
        figures: [
          ...(b.standard_V === null ? [] : [quantity(`circuit.budget.${i}.standard_V`, b.standard_V, "V", 2)]),
          ...(b.standard_L === null ? [] : [" or ", quantity(`circuit.budget.${i}.standard_L`, b.standard_L, "L", 2)]),
        ],
        source: b.why,
      }),
    ),
    ...(circuit.measured
      ? [{ what: circuit.measured.says, formula: null, figures: [counted(null, 0, 0)].slice(1), source: null }]
      : []),
    ...(circuit.gaugeMatch
      ? [{ what: circuit.gaugeMatch.says, formula: "Rs + R·Rp / (R + Rp)", figures: [], source: null }]
      : []),
  ];
}
