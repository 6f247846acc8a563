/** Noise: the spectrum of the reading, with the slosh peak, the tank's predicted mode and the floor. */
import type { Figure, Mark, PointSeries } from "../../figure/figure";
import { withUnit } from "../../format";
import { inLitres, quantityInUnit, type VolumeWords } from "../../quantity";
import type { ReadingUnit } from "../job";
import type { Noise } from "../noise";
import { apartByLevel, type LevelNoise } from "../noise-by-level";
import { litresPair, unitSign, withoutUnit } from "../words/quantity";
import { volumeText } from "../words/volume";

/** Null where no spectrum could be made. */
export function noiseFigure(noise: Noise, unit: ReadingUnit): Figure | null {
  // In millivolts the ticks need no row of noughts.
  const [sign, times] = unit === "V" ? ["mV", 1e6] : [unitSign(unit), 1];
  // A logarithmic axis has no place for a density of zero.
  const bins = noise.spectrum.frequency_Hz.flatMap((f, i) => {
    const density = noise.spectrum.density[i]!;
    return f > 0 && density > 0 ? [{ f, density: times * density }] : [];
  });
  if (bins.length < 2) return null;
  const x = bins.map((b) => b.f);
  const y = bins.map((b) => b.density);
  const marks: Mark[] = [];
  if (noise.sloshFrequency_Hz !== null)
    marks.push({
      kind: "vertical",
      x: noise.sloshFrequency_Hz,
      text: `slosh ${withUnit(noise.sloshFrequency_Hz, "Hz")}`,
      role: "curve",
    });
  if (noise.predictedMode_Hz !== null)
    marks.push({
      kind: "vertical",
      x: noise.predictedMode_Hz,
      text: `rectangular tank ${withUnit(noise.predictedMode_Hz, "Hz")}`,
      role: "compare",
    });
  const floor = (times * 2 * noise.floorSd ** 2) / noise.sampleRate_Hz;
  if (floor > 0) marks.push({ kind: "horizontal", y: floor, text: "floor", role: "floor" });
  return {
    id: "noise",
    finding:
      noise.sloshFrequency_Hz === null
        ? `No slosh peak: ${noise.whyNoPeak ?? "no frequency stands out of the rest"}`
        : `The slosh stands out at ${withUnit(noise.sloshFrequency_Hz, "Hz")}`,
    x: { label: "frequency", unit: "Hz", scale: "log", from: x[0]!, to: x[x.length - 1]! },
    panels: [
      {
        y: { label: "density", unit: `${sign}²/Hz`, scale: "log", from: null, to: null },
        series: [{ kind: "line", role: "curve", name: "spectrum of the reading", x, y, label: null }],
        marks,
        share: 1,
      },
    ],
    key: [
      { role: "curve", text: "spectrum of the reading, burn trend off" },
      ...(noise.predictedMode_Hz !== null
        ? [{ role: "compare" as const, text: "first mode of a rectangular tank of this size" }]
        : []),
      ...(floor > 0 ? [{ role: "floor" as const, text: "electrical and rounding floor" }] : []),
    ],
    table: {
      columns: ["frequency, Hz", `density, ${sign}²/Hz`],
      rows: bins.map((b) => [b.f, b.density]),
    },
  };
}

function between(l: LevelNoise, volume: VolumeWords): string {
  const [from, to] = litresPair(0, [null, l.from_L], [null, l.to_L]);
  return `${quantityInUnit(withoutUnit(from), volume).text}\u00a0and\u00a0${quantityInUnit(to, volume).text}`;
}

/** How much the reading moves against level; null where the logs went through one level only, or it moves alike at all of them. */
export function noiseByLevelFigure(noise: Noise, unit: ReadingUnit, volume: VolumeWords = inLitres): Figure | null {
  const levels = noise.byLevel;
  const [first, last] = [levels[0], levels[levels.length - 1]];
  const apart = apartByLevel(levels);
  if (!first || !last || !apart) return null;
  const { least, most } = apart;
  const x = levels.map((l) => (l.from_L + l.to_L) / 2);
  const half = levels.map((l) => 1.96 * (l.sdStandard_L ?? 0));
  const points = (name: string, y: number[], bars: number[] | null): PointSeries => ({
    kind: "points",
    role: "accepted",
    name,
    x,
    y,
    ...(bars && { lower: y.map((v, i) => Math.max(0, v - bars[i]!)), upper: y.map((v, i) => v + bars[i]!) }),
  });
  return {
    id: "noise-by-level",
    finding: `The volume moves by ${volumeText(least.sd_L, volume)} between ${between(least, volume)}, and by ${volumeText(most.sd_L, volume)} between ${between(most, volume)}`,
    x: { label: "level by the burn trend", unit: "L", scale: "linear", from: first.from_L, to: last.to_L },
    panels: [
      {
        y: { label: "standard deviation", unit: "L", scale: "linear", from: 0, to: null },
        series: [
          points(
            "in the volume",
            levels.map((l) => l.sd_L),
            half,
          ),
        ],
        marks: [],
        share: 0.55,
      },
      {
        y: { label: "the same in the reading", unit: unitSign(unit), scale: "linear", from: 0, to: null },
        series: [
          points(
            "in the reading",
            levels.map((l) => l.sd),
            null,
          ),
        ],
        marks: [],
        share: 0.45,
      },
    ],
    key: [
      {
        role: "accepted",
        text: half.some((h) => h > 0) ? "one stretch of levels; bars: 95 %" : "one stretch of levels",
      },
    ],
    table: {
      columns: ["from, L", "to, L", "seconds", `sd, ${unitSign(unit)}`, "sd, L", "slosh, Hz"],
      rows: levels.map((l) => [l.from_L, l.to_L, l.seconds, l.sd, l.sd_L, l.sloshFrequency_Hz ?? "none"]),
    },
  };
}
