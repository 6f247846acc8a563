import { describe, expect, it } from "vitest";
import { pickPair, type Wanted } from "../../src/pipeline/display-pick";
import type { Weighed } from "../../src/pipeline/display-weigh";

const pair = (timeConstant_s: number, deadband_L: number, rest: Partial<Weighed> = {}): Weighed => ({
  timeConstant_s,
  deadband_L,
  lag_L: 0.01 * timeConstant_s,
  refuel90_s: 2.3 * timeConstant_s,
  reversalsPerMinute: 1,
  reversalsHalfWidth: 0.1,
  digitChangesPerMinute: 1,
  rmsError_L: 1,
  expected_L: 1,
  upper: 1,
  perPass: 0.1,
  ...rest,
});
const wanted: Wanted = { displayReversalsPerMinute: 2, endFlickersPerHour: 1, maxLag_s: null };

describe("the pair that is taken", () => {
  it("is the one with the least error among those that hold still, and no unsteady one", () => {
    const grid = [
      pair(5, 0.1, { expected_L: 0.4, upper: 9 }),
      pair(20, 0.3, { expected_L: 0.6 }),
      pair(60, 0.3, { expected_L: 0.9 }),
    ];
    const picked = pickPair(grid, grid, wanted, 1, null);
    expect(picked).toMatchObject({ met: true, recommended: { timeConstant_s: 20 } });
  });

  it("has a deadband over half a step only where no narrower one is steady within the lag allowed", () => {
    const wide = pair(10, 0.8, { expected_L: 0.3 });
    const slow = pair(90, 0.3, { expected_L: 0.9 });
    const both = [wide, slow];
    expect(pickPair(both, both, wanted, 1, null).recommended).toBe(slow);
    expect(pickPair(both, both, { ...wanted, maxLag_s: 30 }, 1, null)).toMatchObject({ met: true, recommended: wide });
  });

  it("leaves half of a half step to come to the ends where the volume is smoothed, unless the ends flicker for it", () => {
    const wide = pair(20, 0.4, { expected_L: 1 });
    const narrow = pair(60, 0.2, { expected_L: 1.3 });
    const both = [wide, narrow];
    const behind = (flickers: ((p: Weighed) => number) | null) =>
      pickPair(both, both, wanted, 1, flickers, "table-then-filter").recommended;
    expect(behind(null)).toBe(narrow);
    expect(behind(() => 0.1)).toBe(narrow);
    expect(behind((p) => (p === narrow ? 4 : 0.1))).toBe(wide);
    expect(pickPair(both, both, wanted, 1, null).recommended).toBe(wide);
    expect(pickPair([wide], [wide], wanted, 1, null, "table-then-filter").recommended).toBe(wide);
  });

  it("costs a little more error where that keeps digits from turning back as they pass, and no more than that", () => {
    const restless = pair(20, 0.2, { expected_L: 1, perPass: 3 });
    const calm = pair(40, 0.3, { expected_L: 1.3 });
    const dear = pair(200, 0.3, { expected_L: 1.6, perPass: 0 });
    expect(pickPair([restless, calm, dear], [restless, calm, dear], wanted, 1, null).recommended).toBe(calm);
    expect(pickPair([restless, dear], [restless, dear], wanted, 1, null).recommended).toBe(restless);
  });

  it("is the first by error that holds both ends still, where the motion is carried there", () => {
    const grid = [
      pair(20, 0.2, { expected_L: 1 }),
      pair(40, 0.3, { expected_L: 1.1 }),
      pair(60, 0.4, { expected_L: 1.2 }),
    ];
    const flickers = (p: Weighed) => (p.timeConstant_s >= 40 ? 0.4 : 3);
    expect(pickPair(grid, grid, wanted, 1, flickers).recommended).toBe(grid[1]);
    expect(pickPair(grid, grid, { ...wanted, endFlickersPerHour: 0 }, 1, flickers).recommended).toBe(grid[0]);
  });
});

describe("where steadiness and lag cannot both be had", () => {
  const grid = [pair(10, 0.3, { upper: 6 }), pair(20, 0.3, { upper: 4 }), pair(80, 0.3), pair(120, 0.3)];

  it("takes the quickest steady pair, and names the steadiest quick one beside it", () => {
    const picked = pickPair(grid, grid, { ...wanted, maxLag_s: 30 }, 1, null);
    expect(picked).toMatchObject({ met: false, recommended: grid[2], steady: grid[2], quick: grid[1] });
  });

  it("takes the steadiest where none is steady, within the lag if any pair is", () => {
    const none = { ...wanted, displayReversalsPerMinute: 0.5 };
    expect(pickPair(grid, grid, { ...none, maxLag_s: 15 }, 1, null)).toMatchObject({
      met: false,
      recommended: grid[0],
      steady: null,
    });
    expect(pickPair(grid, grid, { ...none, maxLag_s: 5 }, 1, null)).toMatchObject({
      recommended: grid[2],
      quick: null,
    });
  });

  it("weighs only what the logs can speak for, while there is any", () => {
    expect(pickPair(grid, grid.slice(3), wanted, 1, null).recommended).toBe(grid[3]);
  });
});
