/** Noise: the spectrum of the reading, with the slosh peak, the tank's predicted mode and the floor. */
import type { Figure, Mark } from "../../figure/figure";
import { withUnit } from "../../format";
import type { ReadingUnit } from "../job";
import type { Noise } from "../noise";
import { unitSign } from "../words/quantity";

/** Null where no spectrum could be made. */
export function noiseFigure(noise: Noise, unit: ReadingUnit): Figure | null {
  // A logarithmic axis has no place for a density of zero.
  const bins = noise.spectrum.frequency_Hz.flatMap((f, i) => {
    const density = noise.spectrum.density[i]!;
    return f > 0 && density > 0 ? [{ f, density }] : [];
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
  const floor = (2 * noise.floorSd ** 2) / noise.sampleRate_Hz;
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
        y: { label: "density", unit: `${unitSign(unit)}²/Hz`, scale: "log", from: null, to: null },
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
      columns: ["frequency, Hz", `density, ${unitSign(unit)}²/Hz`],
      rows: bins.map((b) => [b.f, b.density]),
    },
  };
}
