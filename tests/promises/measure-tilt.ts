/** Measures what is told of the tilt: litres a g beside those that the simulated surface leans by once an acceleration has lasted. */
import type { Truth } from "../../datasets/world/job";
import { createTank } from "../../datasets/world/tank";
import { lowPass, smoothingFactor } from "../../src/math/filter";
import type { DriveLog } from "../../src/pipeline/drive-log";
import type { Noise } from "../../src/pipeline/noise";

export interface TiltScore {
  axis: "along" | "across";
  /** Litres a g; half of the 95 % interval. */
  told: number;
  half: number;
  truth: number;
}

/** @returns null where none is told. */
export function measureTilt(truth: Truth, noise: Noise, log: DriveLog): TiltScore | null {
  const { tilt_L_per_g: told, tiltAxis: axis, tiltStandard_L_per_g: standard } = noise;
  if (told === null || axis === null || standard === null) return null;
  const lean = staticLean(truth, log);
  return lean && { axis, told, half: 1.96 * standard, truth: lean[axis] };
}

/** Slopes, on both accelerations together, of the litres that the surface at rest under them would show more at the sender; steps and stops left out. */
function staticLean(truth: Truth, log: DriveLog): { along: number; across: number } | null {
  const { along_g, across_g, time_s } = log.columns;
  if (!along_g || !across_g) return null;
  const tank = createTank(truth.tank);
  const limit = 0.4 * tank.depth_mm;
  const alpha = smoothingFactor(2, 1 / log.sampleRate_Hz);
  const [along, across] = [along_g, across_g].map((g) =>
    lowPass(
      g.map((v) => v || 0),
      alpha,
    ),
  ) as [Float64Array, Float64Array];
  const shown = Float64Array.from(time_s, (t, i) => {
    const contents_L = truth.log.from_L - ((t - time_s[0]!) * truth.drive.burn_L_per_h) / 3600;
    const height = tank.heightAt(contents_L);
    const rise = along[i]! * truth.drive.forcing * truth.sender.offAlong_mm + across[i]! * truth.sender.offAcross_mm;
    const local = height + (limit * Math.tanh(rise / limit)) / tank.depth_mm;
    return tank.contentsAt(Math.min(1, Math.max(0, local))) - tank.contentsAt(height);
  });
  const mean = (x: Float64Array) => x.reduce((s, v) => s + v, 0) / x.length;
  const together = (x: Float64Array, y: Float64Array) => {
    const [mx, my] = [mean(x), mean(y)];
    return x.reduce((s, v, i) => s + (v - mx) * (y[i]! - my), 0) / x.length;
  };
  const [aa, ac, cc] = [together(along, along), together(along, across), together(across, across)];
  const [ay, cy] = [together(along, shown), together(across, shown)];
  const determinant = aa * cc - ac * ac;
  return { along: (cc * ay - ac * cy) / determinant, across: (aa * cy - ac * ay) / determinant };
}
