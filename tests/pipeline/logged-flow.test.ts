import { describe, expect, test } from "vitest";
import { driveText, log } from "./driven-log";

/** The drive burns 10.29 L/h on this curve. @param cell of row `i`. */
const withFlow = (header: string, cell: (i: number) => string) =>
  driveText({ header: `time_s,sender_V,${header}` })
    .split("\n")
    .map((line, i) => (i === 0 ? line : `${line},${cell(i - 1)}`))
    .join("\n");
const burn = 10.286;

describe("a logged flow", () => {
  test.each([
    ["flow_L_per_h", burn],
    ["flow (mL/min)", burn / 0.06],
    ["flow [cc/min]", burn / 0.06],
    ["flow_US_gal_per_h", burn / 3.785411784],
    ["flow (imp gal/h)", burn / 4.54609],
  ])("in %s is brought to litres an hour", (header, value) => {
    const found = log(withFlow(header, () => value.toFixed(4)));
    expect(found.log.burn_L_per_h).toBeCloseTo(burn, 2);
    expect(found.log.burnStandard_L_per_h).toBeNull();
    expect(found.cautions.filter((c) => c.includes("flow"))).toEqual([]);
  });

  test("in gallons of which nothing says which is taken as US gallons, and says so", () => {
    for (const header of ["flow_gal_per_h", "flow_gph", "fuel flow (gal/h)"]) {
      const found = log(withFlow(header, () => (burn / 3.785411784).toFixed(4)));
      expect(found.log.burn_L_per_h).toBeCloseTo(burn, 2);
      expect(found.cautions).toContain("drive-log/flow-which-gallon holds-if");
    }
  });

  test("that is a mass is not used without a density", () => {
    const found = log(withFlow("flow (kg/h)", () => (burn * 0.75).toFixed(4)));
    expect(found.cautions).toContain("drive-log/flow-needs-density note");
    expect(found.log.burnStandard_L_per_h).not.toBeNull();
  });

  test("on every twentieth row alone burns as much as on all of them", () => {
    const found = log(withFlow("flow_L_per_h", (i) => (i % 20 === 0 ? burn.toFixed(4) : "")));
    expect(found.log.burn_L_per_h).toBeCloseTo(burn, 1);
  });

  test("that the level contradicts is told and left out; one that it agrees with is taken", () => {
    for (const wrong of [burn / 3.6, burn * 3.785]) {
      const found = log(withFlow("flow", () => wrong.toFixed(4)));
      expect(found.cautions).toContain("drive-log/flow-disagrees doubtful");
      expect(Math.abs(found.log.burn_L_per_h - burn)).toBeLessThan(2.6 * found.log.burnStandard_L_per_h!);
    }
    const right = log(withFlow("flow", () => burn.toFixed(4)));
    expect(right.cautions).not.toContain("drive-log/flow-disagrees doubtful");
    expect(right.cautions).toContain("drive-log/flow-unit note");
    expect(right.log.burn_L_per_h).toBeCloseTo(burn, 2);
  });
});
