/** What the noise leaf says. */
import type { ReadingUnit } from "../job";
import type { Noise } from "../noise";
import type { Finding, Phrase, WorkingLine } from "./finding";
import { counted, percent, quantity, quantityWith, unitSign } from "./quantity";

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
          "; with everything else it moves by ",
          total,
          " (one standard deviation).",
        ];
  if (noise.turningBias_L !== null)
    sentence.push(
      " On this course the turns go mostly one way: the reading is off by ",
      quantity("noise.turningBias_L", noise.turningBias_L, "L", 2),
      " on average, and no filter removes that.",
    );
  return {
    question: "How large and how slow is the slosh?",
    sentence,
    short: ["±\u00a0", total],
    condition: ["One standard deviation, at the levels of this log."],
    caution:
      noise.dropouts > 0
        ? "The reading drops out to an end of its range: look for a loose contact before you smooth it away."
        : null,
  };
}

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
      ],
      source: null,
    },
  ];
  if (noise.sloshFrequency_Hz !== null)
    lines.push({
      what: "The slosh's share of all that moves the reading",
      formula: "squared standard deviations",
      figures: [percent("noise.sloshShare", noise.sloshShare, 0)],
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
      what: "Tilt: litres for each g of sustained acceleration",
      formula: "slope of the smoothed volume on the smoothed acceleration",
      figures: [
        quantityWith("noise.tilt_L_per_g", noise.tilt_L_per_g, 1.96 * (noise.tiltStandard_L_per_g ?? 0), "L/g"),
      ],
      source: null,
    });
  return lines;
}
