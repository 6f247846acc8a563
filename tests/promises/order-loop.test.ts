/** Closed loop of both orders on a few tuning seeds; larger counts by `npx tsx tests/promises/run-loop.ts order 1 25`. */
import { expect, test } from "vitest";
import { measureOrder } from "./measure-order";

test("settings for a device that smooths the volume hold it still and bring up 0 before dry; those for the other order never do", {
  timeout: 240_000,
}, () => {
  const cases = [5, 9].map((seed) => measureOrder(seed, 20).ways);
  for (const ways of cases) {
    const { volume, "typed for the other": typed } = ways;
    expect(volume!.reversalsPerMinute).toBeLessThanOrEqual(2);
    expect(volume!.ends.emptyFlickersPerHour).toBeLessThanOrEqual(1);
    expect(volume!.ends.fullFlickersPerHour).toBeLessThanOrEqual(1);
    expect(volume!.ends.shownBefore).toBeGreaterThan(0.6 * volume!.ends.dryDrives);
    expect(typed!.ends.shownBefore).toBeLessThan(0.2 * typed!.ends.dryDrives);
  }
});
