import { describe, expect, test } from "vitest";
import { ready, stuck } from "../../src/answer";
import type { FillRuns } from "../../src/pipeline/fill-run";
import type { Job } from "../../src/pipeline/job";
import { readingUnitIn } from "../../src/pipeline/reading-unit";

const none = stuck<FillRuns>({ code: "fill-run/none", says: "There is no fill run yet.", remedy: "Bring one." });
const job = (readingUnit: Job["readingUnit"]) => ready({ readingUnit } as Job);

describe("readingUnitIn", () => {
  test("what the fill run shows goes before what the job states", () => {
    const fillRun = ready({ readingUnit: "ohm" } as FillRuns);
    expect(readingUnitIn({ fillRun, job: job("V") })).toBe("ohm");
  });

  test("a drive log without a fill run is in the unit that the job states, else in volts", () => {
    expect(readingUnitIn({ fillRun: none, job: job("count") })).toBe("count");
    expect(readingUnitIn({ fillRun: none, job: job(null) })).toBe("V");
  });
});
