/** What the noise leaf says. */
import type { ReadingUnit } from "../job";
import type { Noise, NoisePart } from "../noise";
import { apartByLevel } from "../noise-by-level";
import type { Finding, Phrase, WorkingLine } from "./finding";
import { counted, litresPair, percent, quantity, quantityWith, unitSign, withoutUnit } from "./quantity";

export function noiseFinding(noise: Noise): Finding {
  const total = quantity("noise.totalSd_L", noise.totalSd_L, "L", 2);
  const sentence: Phrase[] =
    noise.sloshFrequency_Hz === null
      ? [
          "No slosh peak can be placed: ",
          noise.whyNoPeak ?? "no frequency stands out of the rest",
          ". The reading moves by ",
          total,
          " (one standard deviation).",
        ]
      : [
          "The fuel sloshes at ",
          quantityWith(
            "noise.sloshFrequency_Hz",
            noise.sloshFrequency_Hz,
            1.96 * (noise.sloshFrequencyStandard_Hz ?? 0),
            "Hz",
          ),
          " and moves the reading by ",
          quantity("noise.sloshSd_L", noise.sloshSd_L, "L", 2),
          "; all that moves it, taken together, moves it by ",
          total,
          " (one standard deviation).",
        ];
  if (noise.turningBias_L !== null)
    sentence.push(
      " On this course the turns go mostly one way: the reading is off by ",
      quantityWith("noise.turningBias_L", noise.turningBias_L, 1.96 * (noise.turningBiasStandard_L ?? 0), "L"),
      " on average, and no filter removes that.",
    );
  // What could not be told apart is no nought: it is somewhere in the rest.
  const hidden = new Set<NoisePart>([
    ...(noise.sloshFrequency_Hz === null ? (["slosh"] as const) : []),
    ...(noise.tilt_L_per_g === null ? (["tilt"] as const) : []),
  ]);
  const told = noise.split.map((p, at) => ({ ...p, at })).filter((p) => p.share > 0 || !hidden.has(p.part));
  return {
    question: "How large and how slow is the slosh?",
    sentence,
    short: ["±\u00a0", total],
    condition: [
      "One standard deviation, at the levels of this log. Of its square, in which the causes add up, ",
      ...told.flatMap((p, k): Phrase[] => [
        k === 0 ? "" : k === told.length - 1 ? " and " : ", ",
        `${partNames[p.part]} ${k === 0 ? "is " : ""}`,
        percent(`noise.split.${p.at}.share`, p.share, 0),
      ]),
      ".",
      ...(hidden.has("slosh") ? [" What slosh does is in the rest."] : []),
      ...(hidden.has("tilt") ? tiltUntold(noise) : []),
      ...(noise.byLevel.length > 1 && !apartByLevel(noise.byLevel)
        ? [" It moves alike at all levels that were driven."]
        : []),
    ],
    caution:
      noise.dropouts > 0
        ? "The reading drops out to an end of its range: look for a loose contact before you smooth it away."
        : null,
  };
}

/** Why the litres for each g stand nowhere. A share that was told all the same is no nought, and is not in the rest. */
function tiltUntold(noise: Noise): Phrase[] {
  if (noise.whyNoTilt === null) return [" What tilt does is in the rest: only logged accelerations tell it."];
  const told = noise.split.some((p) => p.part === "tilt" && p.share > 0);
  return [
    told
      ? ` How many litres the level leans for each g cannot be told: ${noise.whyNoTilt}.`
      : ` What tilt does is in the rest: ${noise.whyNoTilt}.`,
  ];
}

const partNames: Record<NoisePart, string> = {
  slosh: "slosh",
  tilt: "tilt",
  floor: "noise of wiring and digits",
  rest: "the rest",
};
const partWords: Record<NoisePart, string> = {
  slosh: "Slosh: one and a half widths about the peak, less the floor",
  tilt: "Tilt: what goes with sustained acceleration",
  floor: "Floor of one sample",
  rest: "The rest: other motion, and what the trend leaves",
};

export function noiseWorking(noise: Noise, unit: ReadingUnit): WorkingLine[] {
  const sign = unitSign(unit);
  const lines: WorkingLine[] = [
    {
      what: "Spectrum",
      formula: "mean of the squared transforms of half-overlapped segments under a Hann window, burn trend off",
      figures: [`${noise.spectrum.segments} segments of ${Math.round(noise.spectrum.segment_s)}\u00a0s`],
      source: "Welch 1967, IEEE Trans. Audio Electroacoust. 15, 70–73",
    },
    {
      what: "Electrical and rounding floor of one sample",
      formula:
        "least of four: second and third differences, median density above the slosh × half the rate, neighbours on one level of the sender",
      figures: [quantity(`noise.floorSd_${unit}`, noise.floorSd, sign, 2)],
      source: null,
    },
    {
      what: "Standard deviation of the reading",
      formula: null,
      figures: [quantity(`noise.totalSd_${unit}`, noise.totalSd, sign, 2)],
      source: null,
    },
    {
      what: "Spikes and dropouts",
      formula: null,
      figures: [
        counted("noise.spikes", noise.spikes, 0),
        " spikes, ",
        counted("noise.dropouts", noise.dropouts, 0),
        " dropouts",
        ...(noise.spikesSd > 0
          ? [
              "; over the whole log they put ",
              quantity(`noise.spikesSd_${unit}`, noise.spikesSd, sign, 2),
              " or ",
              quantity("noise.spikesSd_L", noise.spikesSd_L, "L", 2),
              " (root mean square) on top of the rest",
            ]
          : []),
      ],
      source: null,
    },
  ];
  noise.split.forEach((p, i) => {
    lines.push({
      what: partWords[p.part],
      formula: i === 0 ? "shares of the variance" : null,
      figures: [
        percent(`noise.split.${i}.share`, p.share, 0),
        ": ",
        quantity(`noise.split.${i}.sd_${unit}`, p.sd, sign, 2),
        " or ",
        quantity(`noise.split.${i}.sd_L`, p.sd_L, "L", 2),
      ],
      source: null,
    });
  });
  noise.byLevel.forEach((l, i) => {
    const at = `noise.byLevel.${i}`;
    const [from, to] = litresPair(1, [`${at}.from_L`, l.from_L], [`${at}.to_L`, l.to_L]);
    lines.push({
      what: "Motion at a level",
      formula:
        i === 0 ? "each reading through the curve, less the burn trend; ± from how stretches of 20 s differ" : null,
      figures: [
        "from ",
        withoutUnit(from),
        " to ",
        to,
        ": ",
        quantity(`${at}.sd_${unit}`, l.sd, sign, 2),
        ", ",
        quantityWith(`${at}.sd_L`, l.sd_L, 1.96 * (l.sdStandard_L ?? 0), "L"),
        ...(l.sloshFrequency_Hz === null
          ? []
          : [", slosh at ", quantity(`${at}.sloshFrequency_Hz`, l.sloshFrequency_Hz, "Hz", 2)]),
      ],
      source: null,
    });
  });
  if (noise.sloshWidth_Hz !== null)
    lines.push({
      what: "Width of the slosh peak, at half its height",
      formula: null,
      figures: [quantity("noise.sloshWidth_Hz", noise.sloshWidth_Hz, "Hz", 2)],
      source: null,
    });
  if (noise.predictedMode_Hz !== null)
    lines.push({
      what: "First mode of a rectangular tank of this length and depth",
      formula: "f = √(g·(π/L)·tanh(πh/L)) / 2π",
      figures: [quantity("noise.predictedMode_Hz", noise.predictedMode_Hz, "Hz")],
      source: "linear potential theory, NASA SP-106",
    });
  if (noise.tilt_L_per_g !== null)
    lines.push({
      what: `Tilt: litres for each g of sustained acceleration ${noise.tiltAxis ?? ""} the vehicle`,
      formula:
        "sum of the slopes of the volume on the acceleration as it is and as it was (lags of 0, 1 and 4 s behind the one that fits best), along and across at once; a sender x off the middle of a surface A reads A·x a g; ± from how minutes of the log differ, the curve’s doubt of its slope there, and 3 % for what bends",
      figures: [
        quantityWith("noise.tilt_L_per_g", noise.tilt_L_per_g, 1.96 * (noise.tiltStandard_L_per_g ?? 0), "L/g"),
        ...(noise.tiltOffset_mm === null
          ? []
          : [
              ", as of a sender ",
              quantity("noise.tiltOffset_mm", noise.tiltOffset_mm, "mm", 2),
              " off the middle of a box of this length and width",
            ]),
      ],
      source:
        "derived here; t over batches: Bester, Conley and Hansen 2010, SSRN 1708263; curve: JCGM 100:2008, 5.2.2; 3 %: simulated drives, no source",
    });
  if (noise.whyNoTilt !== null)
    lines.push({
      what: "Tilt: litres for each g of sustained acceleration",
      formula: null,
      figures: [`cannot be told: ${noise.whyNoTilt}`],
      source: null,
    });
  return lines;
}
