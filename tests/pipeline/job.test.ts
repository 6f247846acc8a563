import { describe, expect, test } from "vitest";
import { type JobInput, resolveJob, unusableOffset_L } from "../../src/pipeline/job";
import { published } from "../../src/said";

const resolved = (input: JobInput) => {
  const answer = resolveJob(input);
  if (answer.state !== "ready") throw new Error("the job is not ready");
  return answer;
};

describe("what the technician leaves out", () => {
  test("an empty job is whole, and every default that a result stands on is listed with its path", () => {
    const { value } = resolved({});
    expect(value.device.maxTablePoints).toBe(12);
    expect(value.targets.coverage).toBe(0.95);
    expect(value.targets.tolerance_L).toBeNull();
    expect(value.assumed.map((a) => a.path)).toEqual(
      expect.arrayContaining(["tank.unusable_L", "circuit.pullUpLimit", "pour.scaleErrorLimit", "targets.runDryRisk"]),
    );
    expect(value.assumed.every((a) => a.why.length > 0)).toBe(true);
  });
  test("null says the same as leaving a field out", () => {
    expect(resolved({ tank: { capacity_L: null }, device: { displayStep: null }, readingUnit: null }).value).toEqual(
      resolved({}).value,
    );
  });
  test("what is stated is taken and not listed as assumed", () => {
    const { value } = resolved({ targets: { runDryRisk: 0.02 } });
    expect(value.targets.runDryRisk).toBe(0.02);
    expect(value.assumed.map((a) => a.path)).not.toContain("targets.runDryRisk");
  });
});

describe("what cannot be used", () => {
  test("a capacity below zero is named with its path", () => {
    const answer = resolveJob({ tank: { capacity_L: -5 } });
    expect(answer.state === "stuck" && answer.issue.code).toBe("job/invalid");
    expect(answer.state === "stuck" && published(answer.issue.says)).toContain("tank.capacity_L");
  });
  test("a slip of the pen in a field's name is not ignored", () => {
    expect(resolveJob({ tank: { capacty_L: 60 } } as JobInput).state).toBe("stuck");
  });
  test("a device that can be set to nothing, or show nothing between empty and full, is told", () => {
    const codes = (device: JobInput["device"]) =>
      resolved({ tank: { capacity_L: 60 }, device }).cautions.map((c) => c.code);
    expect(codes({ deadband: { unit: "L", step: 10, most: 5 } })).toContain("job/deadband-without-room");
    expect(codes({ deadband: { unit: "L", step: 0.1, most: 0 } })).not.toContain("job/deadband-without-room");
    expect(codes({ displayUnit: "L", displayStep: 100 })).toContain("job/step-over-half");
    expect(codes({ displayUnit: "USgal", displayStep: 9 })).toContain("job/step-over-half");
    expect(codes({ displayUnit: "percent", displayStep: 25 })).not.toContain("job/step-over-half");
  });

  test("an unusable volume over the capacity is doubtful, and both figures stand there", () => {
    const { cautions } = resolved({ tank: { capacity_L: 10, unusable_L: 12 } });
    expect(cautions[0]!.weight).toBe("doubtful");
    expect(published(cautions[0]!.says)).toContain("12");
    expect(published(cautions[0]!.says)).toContain("10");
  });
});

describe("usable is added less the offset", () => {
  const offset = (fill: JobInput["fill"]) =>
    unusableOffset_L(resolved({ tank: { unusable_L: 1.2, unusableLimit_L: 0.3 }, fill }).value);
  test("a run from a drained tank poured the unusable volume too", () => {
    expect(offset({ startedFrom: "drained" }).offset_L).toBe(1.2);
    expect(offset({ startedFrom: "drained" }).standard_L).toBeCloseTo(0.3 / Math.sqrt(3), 12);
  });
  test("a run from a dry pick-up has every litre usable", () => {
    expect(offset({ startedFrom: "pick-up-dry" }).offset_L).toBe(0);
  });
  test("a stated start remainder comes off the unusable volume", () => {
    expect(offset({ startRemainder_L: 0.5 }).offset_L).toBeCloseTo(0.7, 12);
  });
});

test.each([
  [{ tank: { capacty_L: 60 } }, "In the job there is no field tank.capacty_L.", /capacity_L, unusable_L/],
  [{ tanc: {} }, "In the job there is no field tanc.", /name, tank, sender/],
  [{ tank: { capacity_L: "50" } }, 'In the job, tank.capacity_L should be a number, and is "50".', /leave it out/],
  [
    { device: { deadband: { unit: "mm" } } },
    'In the job, device.deadband.unit should be one of L, percent, V, and is "mm".',
    /leave it out/,
  ],
  [{ tank: { capacity_L: -5 } }, "In the job, tank.capacity_L should be more than 0, and is -5.", /leave it out/],
  [{ targets: { coverage: 1.5 } }, "In the job, targets.coverage should be less than 1, and is 1.5.", /leave it out/],
  [[], "In the job, the job should be a group of fields in braces, and is [].", /./],
])("a slip in the job is told in words: %j", (input, says, remedy) => {
  const answer = resolveJob(input as JobInput);
  if (answer.state !== "stuck") throw new Error("should be stuck");
  expect(published(answer.issue.says)).toBe(says);
  expect(published(answer.issue.remedy!)).toMatch(remedy);
});

test("a reserve without a unit is in miles where the consumption is in miles a gallon, else in kilometres; a stated unit stays", () => {
  const unitOf = (input: JobInput) => {
    const answer = resolveJob(input);
    return answer.state === "ready" ? answer.value.reserve.unit : null;
  };
  expect(unitOf({ consumption: { mean: 18, unit: "mpg-us" } })).toBe("mi");
  expect(unitOf({ consumption: { mean: 22, unit: "mpg-imp" }, reserve: { value: 15 } })).toBe("mi");
  expect(unitOf({ consumption: { mean: 18, unit: "mpg-us" }, reserve: { unit: "km" } })).toBe("km");
  expect(unitOf({ consumption: { mean: 21, unit: "L/100km" } })).toBe("km");
  expect(unitOf({})).toBe("km");
});

describe("what is too large to be so", () => {
  const codes = (input: JobInput) => resolved(input).cautions.map((c) => c.code);
  test("a share that was written in percent is told with what it would be, and how it is written", () => {
    const [caution] = resolved({ pour: { scaleErrorLimit: 5 } }).cautions;
    expect(caution!.code).toBe("job/share-too-large");
    expect(published(caution!.says)).toContain("500 %");
    expect(caution!.remedyOnCommandLine).toBe(
      "Correct pour.scaleErrorLimit: it is a share, so 5 % is written as 0.05.",
    );
    expect(codes({ circuit: { pullUpLimit: 1 } })).toEqual(["job/share-too-large"]);
    expect(codes({ circuit: { supplyLimit: 0.2 }, pour: { scaleErrorLimit: 0.05 } })).toEqual([]);
  });
  test("an uncertainty as large as what it belongs to is a doubt", () => {
    expect(codes({ tank: { capacity_L: 60, unusableLimit_L: 60 } })).toEqual(["job/unusable-limit-over-capacity"]);
    expect(codes({ tank: { capacity_L: 60, unusable_L: 31 } })).toEqual(["job/mostly-unusable"]);
    expect(codes({ tank: { capacity_L: 60, unusable_L: 60 } })).toEqual(["job/unusable-over-capacity"]);
    expect(codes({ tank: { capacity_L: 60, unusable_L: 12, unusableLimit_L: 10 } })).toEqual([]);
    expect(codes({ pour: { size_L: 4, errorPerPour_L: 4 } })).toEqual(["job/pour-error-over-pour"]);
    expect(codes({ consumption: { mean: 21, standardUncertainty: 60 } })).toEqual(["job/spread-over-consumption"]);
    expect(
      codes({ consumption: { mean: 21, standardUncertainty: 5 }, pour: { size_L: 4, errorPerPour_L: 1 } }),
    ).toEqual([]);
  });
});

test("an unknown field is told the names that are taken, and none that only a result has", () => {
  const remedyOf = (input: unknown) => {
    const answer = resolveJob(input as JobInput);
    return answer.state === "stuck" ? published(answer.issue.remedy!) : "";
  };
  expect(remedyOf({ tanks: {} })).toMatch(/: name, tank, sender, .*reserve\.$/);
  expect(remedyOf({ asFound: { colour: 1 } })).toMatch(/: table, timeConstant_s, deadband, warnAt, faultLimits\.$/);
  expect(remedyOf({ circuit: { enginePair: { offVolts: 1 } } })).toMatch(/: offReading, runningReading, /);
  expect(remedyOf({ device: { smoothing: { unit: "s" } } })).toMatch(/: asks, least, most, step\.$/);
});
