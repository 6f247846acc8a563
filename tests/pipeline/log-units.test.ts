import { expect, test } from "vitest";
import { unitFactor } from "../../src/pipeline/log-units";

const job = (supplyVolts: number | null, adcBits: number | null) => ({ circuit: { supplyVolts, adcBits } });
const issueOf = (unit: string, wanted: "V" | "ohm" | "count", stated = job(5, 12)) => {
  const answer = unitFactor("drive.csv", unit, wanted, stated, []);
  return answer.state === "stuck" ? `${answer.issue.says} ${answer.issue.remedy}` : answer.state;
};

test("a log in ohms of a run in volts is refused without asking for what the job states already", () => {
  expect(issueOf("ohm", "V")).toBe(
    "drive.csv is in ohms, the curve in volts: a log in ohms is not turned into volts. Log through the same circuit and in the same unit as the fill run.",
  );
});

test("counts become volts where supply and bits are stated, and ask for them where they are not", () => {
  expect(issueOf("count", "V")).toBe("ready");
  expect(issueOf("count", "V", job(5, null))).toBe(
    "drive.csv is in counts, the curve in volts, and the job does not say how one becomes the other. Log through the same circuit as the fill run, or state supply and converter bits in the job.",
  );
});
