/** What the circuit leaf says. */
import { phrasesOf } from "../../said";
import { type Circuit, endsRemedy } from "../circuit";
import { cannotFit, gaugeRemedy } from "../gauge-match";
import type { ReadingUnit } from "../job";
import type { Finding, Phrase, Quantity, WorkingLine } from "./finding";
import { quantity, quantityWith, unitSign } from "./quantity";

/** The measured ends beside what the job states, in volts or in ohms. */
const endsOf = (circuit: Circuit) => circuit.measured ?? circuit.measuredOhms;

/** Ends that speak against what the job states: the finding is then the fault, not the span. */
const isFault = (circuit: Circuit): boolean => {
  const ends = endsOf(circuit);
  return ends !== null && !["as-stated", "part-travel", "inside-travel", "sender-differs"].includes(ends.signature);
};

/** A sender of other ohms than stated: the curve goes by the run, but the travel reckoned from the stated ohms is not what shows. */
const isOther = (circuit: Circuit): boolean => endsOf(circuit)?.signature === "sender-differs";

export function circuitFinding(circuit: Circuit): Finding {
  const sentence: Phrase[] = [];
  const ends = endsOf(circuit);
  // A run that ends inside the stated travel may still be a fault: then that travel holds by what is stated alone.
  const isInside = ends?.signature === "inside-travel";
  const span = circuit.spanVolts !== null && circuit.emptyVolts !== null && circuit.fullVolts !== null;
  // What is said first is not said again as a caution: what mends it stands right under.
  const unlike = isFault(circuit) || isOther(circuit);
  if (unlike) sentence.push("Not as stated. ", `${ends!.says} `);
  else if (circuit.kind === "converter")
    sentence.push(
      "The sender brings its own converter: pull-up, bend and heat do not apply. Fill it with the fuel that it will serve, since another fuel gives another curve. ",
    );
  if (span && !unlike)
    sentence.push(
      circuit.kind === "converter"
        ? "The run went over "
        : isInside
          ? "Yes, by what is stated: the travel shows as "
          : "Yes: the travel shows as ",
      quantity("circuit.spanVolts", circuit.spanVolts!, "V"),
      ", from ",
      quantity("circuit.emptyVolts", circuit.emptyVolts!, "V"),
      " empty to ",
      quantity("circuit.fullVolts", circuit.fullVolts!, "V"),
      " full. ",
    );
  else if (!span && circuit.kind !== "converter")
    sentence.push(
      circuit.hasFillRun
        ? "The readings of the fill run are all that is known of the circuit. "
        : "What is stated of the circuit does not tell the travel, and there is no fill run to read it from. ",
    );
  // Of a circuit that is not as stated the bend of the stated one says nothing.
  if (circuit.twoPointBend_L !== null && !unlike)
    sentence.push(
      "A straight line through two points would be ",
      quantity("circuit.twoPointBend_L", circuit.twoPointBend_L, "L", 2),
      " off by the divider alone. ",
    );
  sentence.push(...shiftPhrases(circuit));
  const gauge = circuit.gaugeMatch;
  if (gauge && cannotFit(gauge)) sentence.push(gauge.says);
  const further = [
    ...(unlike ? [endsRemedy(ends!.signature, circuit.measured === null)] : []),
    ...(gauge ? [cannotFit(gauge) ? gaugeRemedy : gauge.says] : []),
  ];
  return {
    says: [
      ...(circuit.kind === "converter" && !isFault(circuit) ? ["circuit/converter"] : []),
      ...(unlike ? [`circuit/${ends!.signature}`] : []),
      ...(gauge && cannotFit(gauge) ? ["circuit/gauge-cannot-fit"] : []),
    ],
    question: "Does the circuit show the whole travel?",
    sentence,
    ...(further.length > 0 ? { further: [further.join(" ")] } : {}),
    short: circuit.spanVolts === null ? ["as read"] : [quantity("circuit.spanVolts", circuit.spanVolts, "V")],
    condition:
      circuit.senderHeat_W === null
        ? []
        : [
            "Heat in the sender at most ",
            quantity("circuit.senderHeat_W", 1000 * circuit.senderHeat_W, "mW", 2),
            "; a short circuit would carry ",
            quantity("circuit.shortCircuit_A", 1000 * (circuit.shortCircuit_A ?? 0), "mA", 2),
            ".",
          ].map((p) => (typeof p === "string" ? p : { ...p, path: null })),
    // What heat and current do not prove is a caution of the stage, so that the command line says it too, and it is said once.
    caution: null,
  };
}

const causeWords: Record<NonNullable<Circuit["runningShift"]>["cause"], string> = {
  noise: "no more than chance",
  ground: "a lifted ground",
  supply: "the supply",
  charging: "the charging voltage",
  "supply-and-ground": "supply and ground together",
  "cannot-be-told": "ground or supply, which cannot be told yet",
  unexplained: "for no cause that is known here",
};

/** Engine off against running, in a sentence; the whole of it stands in the working. */
function shiftPhrases(circuit: Circuit): Phrase[] {
  const shift = circuit.runningShift;
  if (!shift) return [];
  const volts = shift.shiftVolts;
  return [
    "The running engine moves the reading",
    ...(volts === null
      ? []
      : [" by ", quantityWith("circuit.runningShift.shiftVolts", volts, 2 * (shift.shiftStandardVolts ?? 0), "V")]),
    ...(shift.shift_L === null
      ? []
      : [
          volts === null ? " by " : ", ",
          quantityWith("circuit.runningShift.shift_L", shift.shift_L, 2 * (shift.shiftStandard_L ?? 0), "L"),
        ]),
    `: ${causeWords[shift.cause]}. `,
  ];
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
      source: "Ohm’s law; closed form derived",
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
    ...(circuit.recommended
      ? [
          {
            what: "Which pull-up",
            formula: null,
            figures: phrasesOf(circuit.recommended.why),
            source: "preferred values: IEC 60063",
          },
        ]
      : []),
    ...circuit.bestPullUps.map(
      (o, i): WorkingLine => ({
        what: `Pull-up ${o.pullUpOhms} Ω (${o.series ?? "no preferred value"})`,
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
        what: `One reading at mid travel, ${b.part}${b.cancels ? " (constant: inside the curve)" : ""}`,
        formula: null,
        figures: [
          ...joined([
            b.standard_V === null ? null : quantity(`circuit.budget.${i}.standard_V`, b.standard_V, "V", 2),
            b.standard_ohm === null ? null : quantity(`circuit.budget.${i}.standard_ohm`, b.standard_ohm, "Ω", 2),
            b.standard_L === null ? null : quantity(`circuit.budget.${i}.standard_L`, b.standard_L, "L", 2),
          ]),
        ],
        source: b.why,
      }),
    ),
    ...(circuit.budgetStandard_L === null
      ? []
      : [
          {
            what: "One reading at mid travel, all of it that is not constant, together",
            formula: "root of the sum of squares",
            figures: [quantity("circuit.budgetStandard_L", circuit.budgetStandard_L, "L", 2)],
            source: "JCGM 100:2008, 5.1",
          },
        ]),
    ...(circuit.measured
      ? [
          {
            what: "Measured ends against the stated circuit",
            formula: "V = (Vs·R + Vg·Rp) / (R + Rp) at both ends; one fault at a time is fitted to both",
            figures: [
              "empty ",
              quantity("circuit.measured.emptyVolts", circuit.measured.emptyVolts, "V"),
              " against ",
              quantity("circuit.measured.predictedEmptyVolts", circuit.measured.predictedEmptyVolts, "V"),
              ", full ",
              quantity("circuit.measured.fullVolts", circuit.measured.fullVolts, "V"),
              " against ",
              quantity("circuit.measured.predictedFullVolts", circuit.measured.predictedFullVolts, "V"),
              `. ${circuit.measured.says}`,
            ],
            source: null,
          },
        ]
      : []),
    ...(circuit.measuredOhms
      ? [
          {
            what: "Measured ends against the sender’s stated ohms",
            formula: null,
            figures: [
              "empty ",
              quantity("circuit.measuredOhms.emptyOhms", circuit.measuredOhms.emptyOhms, "Ω", 3),
              ", full ",
              quantity("circuit.measuredOhms.fullOhms", circuit.measuredOhms.fullOhms, "Ω", 3),
              `. ${circuit.measuredOhms.says}`,
            ],
            source: null,
          },
        ]
      : []),
    ...(circuit.runningShift
      ? [
          {
            what: "Engine off against running",
            formula: "ground: ΔV = Vg·Rp / (R + Rp); supply: ΔV = V·(Vs running / Vs off − 1)",
            figures: [...phrasesOf(circuit.runningShift.says), ` ${circuit.runningShift.remedy}`],
            source: "Ohm’s law; ± two standard uncertainties of the two readings",
          },
        ]
      : []),
    ...(circuit.gaugeMatch
      ? [
          {
            what: "Sender on the gauge",
            formula: "Rs + R·Rp / (R + Rp)",
            figures: [circuit.gaugeMatch.says],
            source: null,
          },
        ]
      : []),
  ];
}

/** Quantities that are there, with "or" between them. */
const joined = (parts: (Quantity | null)[]): Phrase[] =>
  parts.filter((p) => p !== null).flatMap((p, i): Phrase[] => (i === 0 ? [p] : [" or ", p]));
