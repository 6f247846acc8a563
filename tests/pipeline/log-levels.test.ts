import { describe, expect, it } from "vitest";
import { createRandom } from "../../src/math/random";
import { doubtsOf, type SeenInLog } from "../../src/pipeline/drive-doubts";
import type { DriveRows } from "../../src/pipeline/drive-rows";
import { levelsIn } from "../../src/pipeline/log-levels";
import { codeOf, driveText, log } from "./driven-log";

/** A float that sways about 2.5 V of 0.5 to 4 V, and a reading that shows it in steps, with noise on it. */
function swaying(step_V: number, noise_V: number, sway_V = 0.3): Float64Array {
  const random = createRandom(3);
  return Float64Array.from({ length: 8000 }, (_, i) => {
    const v = 2.5 + sway_V * Math.sin(0.3 * i) * Math.sin(0.011 * i);
    return (step_V > 0 ? step_V * Math.round(v / step_V) : v) + noise_V * random.normal();
  });
}

describe("levelsIn", () => {
  it("counts the levels of a ladder, with stray readings and gaps among them", () => {
    const values = swaying(0.15, 0.005);
    for (let i = 0; i < values.length; i += 200) values[i] = i % 400 === 0 ? Number.NaN : 1 + i / 4000;
    expect(levelsIn(values, [0.5, 4])).toBe(5);
    expect(levelsIn(values, [4, 0.5])).toBe(5);
  });

  it("sees none where the reading moves evenly, where its noise covers the steps, and where they are too fine to matter", () => {
    expect(levelsIn(swaying(0, 0.005), [0.5, 4])).toBeNull();
    expect(levelsIn(swaying(0.15, 0.06), [0.5, 4])).toBeNull();
    expect(levelsIn(swaying(0.02, 0.001), [0.5, 4])).toBeNull();
  });

  it("takes neither coarse steps of a converter nor a vehicle parked at five levels for a ladder", () => {
    expect(levelsIn(swaying(0.15, 0), [0.5, 4])).toBeNull();
    const random = createRandom(4);
    const parked = Float64Array.from(
      { length: 8000 },
      (_, i) => 2.5 - 0.1 * Math.floor(i / 1600) + 0.004 * random.normal(),
    );
    expect(levelsIn(parked, [0.5, 4])).toBeNull();
  });
});

describe("a drive log of a ladder that the fill run was not read as", () => {
  const stepped = driveText({
    slosh: 6,
    cells: (i, t, v) => [t, 0.1 * Math.round(v / 0.1) + 0.004 * Math.sin(12.9898 * i)],
  });
  it("is told where a curve was measured, and not for a table found in a device", () => {
    expect(codeOf(stepped)).toBe("ready");
    expect(log(stepped).cautions).not.toContain("drive-log/levels doubtful");
    expect(log(stepped, { measured: true }).cautions).toContain("drive-log/levels doubtful");
    expect(log(driveText(), { measured: true }).cautions).not.toContain("drive-log/levels doubtful");
  });

  it("is not asked to be stated where it is: then more steps are asked for", () => {
    const remedyFor = (kind: "float-arm" | "reed-ladder") =>
      doubtsOf("a.csv", { keep: new Int32Array(10), duration_s: 600 } as unknown as DriveRows, {
        outside: 0,
        fuller: 0,
        atEnd: 0,
        noiseAlone: false,
        rise_L: null,
        stuck: { first_s: null, seconds: 0 } as SeenInLog["stuck"],
        parked_s: 0,
        trend: { block_s: 0, stray_L: 0 },
        top_L: 60,
        levels: 9,
        isFound: false,
        ladderStated: kind === "reed-ladder",
      }).find((c) => c.code === "drive-log/levels")!.remedy;
    expect(remedyFor("float-arm")).toContain("State the sender as a reed ladder");
    expect(remedyFor("reed-ladder")).toContain("pour again in six steps or more");
    expect(remedyFor("reed-ladder")).not.toContain("State the sender");
  });
});
