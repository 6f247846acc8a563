import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { shareAtEnds, slowEnough } from "../../src/pipeline/display-unseen";
import type { DriveLog } from "../../src/pipeline/drive-log";

const log = (rows: number, atEnd: number) => ({ rows, counts: { atEnd } }) as Pick<DriveLog, "rows" | "counts">;
const pairs = [0, 10, 50, 65, 110].flatMap((timeConstant_s) =>
  [0, 0.2, 0.25, 0.4].map((deadband_L) => ({ timeConstant_s, deadband_L })),
);

describe("a log that stands at an end", () => {
  test("the share is of all rows of all logs", () => {
    expect(shareAtEnds([log(1000, 500), log(3000, 0)])).toBeCloseTo(0.125, 12);
    expect(shareAtEnds([])).toBe(0);
  });

  test("up to a tenth at an end changes nothing", () => {
    expect(slowEnough(pairs, [log(1000, 100)], 1, null)).toEqual({ pairs, cautions: [] });
  });

  test("beyond that quick and narrow settings are not weighed, and it is said for how much of the log", () => {
    const { pairs: left, cautions } = slowEnough(pairs, [log(1000, 606)], 1, null);
    expect(left).toEqual([
      { timeConstant_s: 65, deadband_L: 0.25 },
      { timeConstant_s: 65, deadband_L: 0.4 },
      { timeConstant_s: 110, deadband_L: 0.25 },
      { timeConstant_s: 110, deadband_L: 0.4 },
    ]);
    expect(cautions).toMatchObject([{ code: "display/motion-unseen", weight: "holds-if" }]);
    expect(cautions[0]!.says).toContain("On 61 % of the rows");
  });

  test("a lag that the user wants no longer than that, or a device that has none so slow, is kept to", () => {
    expect(slowEnough(pairs, [log(1000, 606)], 1, 60)).toEqual({ pairs, cautions: [] });
    const quick = pairs.filter((p) => p.timeConstant_s < 60);
    expect(slowEnough(quick, [log(1000, 606)], 1, null)).toEqual({ pairs: quick, cautions: [] });
    expect(slowEnough(pairs, [log(1000, 606)], 1, 70).pairs).toHaveLength(4);
  });

  test("never leaves nothing to choose from, and adds nothing", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 1000 }),
        fc.double({ min: 0.01, max: 5, noNaN: true }),
        fc.option(fc.double({ min: 0, max: 300, noNaN: true }), { nil: null }),
        (atEnd, step_L, lag) => {
          const { pairs: left } = slowEnough(pairs, [log(1000, atEnd)], step_L, lag);
          expect(left.length).toBeGreaterThan(0);
          expect(left.every((p) => pairs.includes(p))).toBe(true);
        },
      ),
    );
  });
});
