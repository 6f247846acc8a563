/** A small known tank for tests: 60 L, a sender that bends gently, read in volts with a seeded hand. */
import type { Issue } from "../../src/answer";
import { createRandom } from "../../src/math/random";
import type { Choices } from "../../src/pipeline/choices";
import { noChoices } from "../../src/pipeline/choices";
import type { Curve } from "../../src/pipeline/curve-types";
import { createPipeline } from "../../src/pipeline/index";
import type { JobInput } from "../../src/pipeline/job";
import type { SuspectSteps } from "../../src/pipeline/suspect-steps";

export interface Sheet {
  volumes: number[];
  readings: number[];
}

/** Volts for true litres: a quarter of the way between a line and a parabola, 0.5 V empty to 4.5 V full. */
export const trueVolts = (litres: number) => 0.5 + 4 * (0.75 * (litres / 60) + 0.25 * (litres / 60) ** 2);
/** And back. */
export const trueLitres = (volts: number) => {
  const r = (volts - 0.5) / 4;
  return 60 * ((-0.75 + Math.sqrt(0.75 ** 2 + r)) / 0.5);
};

/** Pours of 4 L, 15 steps; each pour and each reading off as a seeded hand is. `volts` may replace the sender. */
export function sheet(
  seed: number,
  options: { n?: number; pour_L?: number; pourError_L?: number; noise?: number; volts?: (l: number) => number } = {},
): Sheet {
  const { n = 15, pour_L = 4, pourError_L = 0.03, noise = 0.004, volts = trueVolts } = options;
  const random = createRandom(seed);
  let level = 0;
  const volumes: number[] = [];
  const readings: number[] = [];
  for (let k = 0; k < n; k++) {
    if (k > 0) level += pour_L + pourError_L * random.normal();
    volumes.push(k * pour_L);
    readings.push(Number((volts(level) + noise * random.normal()).toFixed(3)));
  }
  return { volumes, readings };
}

export const job: JobInput = {
  tank: { capacity_L: 60 },
  sender: { kind: "float-arm" },
  fill: { enteredAs: "cumulative" },
  pour: { size_L: 4, errorPerPour_L: 0.03, scaleErrorLimit: 0.005 },
  readingUnit: "V",
  volumeUnit: "L",
};

export function analyse(
  s: Sheet,
  change: { job?: JobInput; choices?: Partial<Choices> } = {},
): { curve: Curve; suspects: SuspectSteps; cautions: Issue[] } {
  const text = ["volume (L);reading (V)", ...s.volumes.map((v, i) => `${v};${s.readings[i]}`)].join("\n");
  const bytes = new TextEncoder().encode(text);
  const { stages } = createPipeline({
    job: change.job ?? job,
    files: { fills: [{ name: "fill.csv", kind: "fill", bytes, sha256: "" }], drives: [] },
    readings: {},
    choices: { ...noChoices, ...change.choices },
  });
  const curve = stages.curve.read();
  const suspects = stages.suspectSteps.read();
  if (curve.state !== "ready" || suspects.state !== "ready")
    throw new Error(`analyse: ${JSON.stringify(curve.state === "stuck" ? curve.issue : suspects)}`);
  return { curve: curve.value, suspects: suspects.value, cautions: suspects.cautions };
}
