/** Drives of known burn, slosh and floor as a logger would have written them, and what is read off them. */
import type { Answer } from "../../src/answer";
import { createRandom } from "../../src/math/random";
import type { Choices } from "../../src/pipeline/choices";
import type { BelievedLimits } from "../../src/pipeline/circuit";
import type { CurveDoubt } from "../../src/pipeline/curve-doubt";
import type { Curve, VolumeByReading } from "../../src/pipeline/curve-types";
import { type DriveLog, readDrive } from "../../src/pipeline/drive-log";
import { rowsOfLogs } from "../../src/pipeline/drive-rows";
import { scaleUnder, topOf } from "../../src/pipeline/end-motion";
import { floorOf, floorSamples } from "../../src/pipeline/floor-of-log";
import { type Job, resolveJob } from "../../src/pipeline/job";
import { lookAt, markLog, travelBetween } from "../../src/pipeline/log-marks";
import { motionOf } from "../../src/pipeline/log-motion";
import { flowJobOf } from "../../src/pipeline/logged-flow";
import { describeNoise } from "../../src/pipeline/noise";
import { type Recording, readRecording } from "../../src/pipeline/recording";
import { tiltGround, tiltSamples } from "../../src/pipeline/tilt";

export const slosh_Hz = 1;
export const floor_V = 0.005;
/** Volts a second that the burn of this drive takes away: 10.3 L/h on the curve below. */
export const burn_V_per_s = 0.1 / 600;

/** Ten minutes at 20 Hz: a driven, damped swing at 1 Hz, white noise, a steady burn. `cells` writes one row's time and reading. */
export function driveText(
  options: {
    slosh?: number;
    burn?: number;
    rows?: number;
    header?: string;
    cells?: (i: number, t: number, v: number) => [number, number | ""];
  } = {},
): string {
  const { slosh = 1.5, burn = 1, rows = 12000, header = "time_s,sender_V", cells = (_i, t, v) => [t, v] } = options;
  const random = createRandom(1);
  const w = 2 * Math.PI * slosh_Hz;
  const dt = 1 / 20;
  let x = 0;
  let v = 0;
  const lines = [header];
  for (let i = 0; i < rows; i++) {
    for (let k = 0; k < 10; k++) {
      v += ((-w * w * x - 0.1 * w * v + 1.5 * w * Math.sqrt(dt) * random.normal()) * dt) / 10;
      x += (v * dt) / 10;
    }
    const value = 2.5 - burn * burn_V_per_s * i * dt + slosh * x + floor_V * random.normal();
    const [t, r] = cells(i, i * dt, value);
    lines.push(`${t.toFixed(3)},${r === "" ? "" : r.toFixed(4)}`);
  }
  return lines.join("\n");
}

/** 0.5 to 4 V are 0 to 60 L. */
export const curve = (() => {
  const grid = Array.from({ length: 41 }, (_, i) => ({ reading: 0.5 + (3.5 * i) / 40, volume_L: (60 * i) / 40 }));
  return { readingUnit: "V", sense: 1, grid, overall: { emptyReading: 0.5, fullReading: 4 } } as unknown as Curve;
})();
export const circuit = { faultLow: 0.2, faultHigh: 4.6 } as BelievedLimits;
export const job: Job = (() => {
  const answer = resolveJob({ tank: { capacity_L: 60 } });
  if (answer.state !== "ready") throw new Error("the test's own job is wrong");
  return answer.value;
})();

/** As of a curve that was measured, and is known within half a litre. */
const doubt = {
  readings: [0.5, 4],
  covariance_L2: [
    [0.25, 0.25],
    [0.25, 0.25],
  ],
};

/** Recordings through a curve, as the pipeline reads them: their rows first. */
export function readLogs(
  recordings: Recording[],
  curve: VolumeByReading,
  limits: BelievedLimits | null,
  job: Job,
  parts: Choices["driveParts"] = {},
  doubt: CurveDoubt | null = null,
): Answer<DriveLog[]> {
  const rows = rowsOfLogs(recordings, curve.readingUnit, { ...job, flow: flowJobOf(job) }, parts);
  if (rows.state !== "ready") return rows;
  const marked = rows.value.logs.map((log) => markLog(lookAt(log, travelBetween(curve), 0, doubt !== null), limits));
  return readDrive(marked, curve, job.sender.kind, doubt);
}

function read(text: string, measured = false, through: VolumeByReading = curve) {
  const recording = readRecording(
    { name: "drive.csv", kind: "drive", bytes: new TextEncoder().encode(text), sha256: "0" },
    null,
  );
  if (recording.state !== "ready") throw new Error(`the test's own file is unreadable: ${recording.state}`);
  return readLogs([recording.value], through, circuit, job, {}, measured ? doubt : null);
}
export function log(
  text: string,
  { measured = false, curve: through = curve }: { measured?: boolean; curve?: VolumeByReading } = {},
): { log: DriveLog; cautions: string[] } {
  const answer = read(text, measured, through);
  if (answer.state !== "ready") throw new Error(`not ready: ${JSON.stringify(answer)}`);
  return { log: answer.value[0]!, cautions: answer.cautions.map((c) => `${c.code} ${c.weight ?? ""}`.trim()) };
}
export const codeOf = (text: string) => {
  const answer = read(text);
  return answer.state === "stuck" ? answer.issue.code : answer.state;
};
/** Noise of logs, as the pipeline tells it: motion and floor first. */
export function noiseOf(logs: DriveLog[], curve: VolumeByReading, job: Job, doubt: CurveDoubt | null = null) {
  const motion = motionOf(logs, tiltGround(tiltSamples(logs)), curve, doubt);
  if (motion.state !== "ready") return motion;
  const floor = floorOf(floorSamples(logs), scaleUnder(topOf(curve, job)));
  return describeNoise(motion.value, floor, logs, curve, job);
}
export function noise(text: string) {
  const answer = noiseOf([log(text).log], curve, job);
  if (answer.state !== "ready") throw new Error(`not ready: ${JSON.stringify(answer)}`);
  return answer.value;
}
