import { describe, expect, test } from "vitest";
import {
  litresBare,
  litresOf,
  litresOfTank,
  litresStated,
  litresTo,
  litresTyped,
  litresWithin,
} from "../src/pipeline/litres";
import { inLitres, type VolumeWords, volumeUnitSigns } from "../src/quantity";
import { capital, joined, published, saidIn, say } from "../src/said";
import { LITRES_PER_USGAL } from "../src/units";

const gallons: VolumeWords = { sign: volumeUnitSigns.USgal, litres: LITRES_PER_USGAL, litresInBrackets: false };
const percent: VolumeWords = { sign: volumeUnitSigns.percent, litres: 0.5, litresInBrackets: false };
const read = (said: Parameters<typeof saidIn>[0], volume = gallons) => saidIn(said, volume).replaceAll("\u00a0", " ");

describe("prose with volumes in it", () => {
  test("is a string where there is none, numbers and words set in", () => {
    expect(say`step ${3} of ${"run.csv"}`).toBe("step 3 of run.csv");
    expect(say`${"all"}`).toBe("all");
    expect(joined([])).toBe("");
  });

  test("is published in litres with its own spaces, and read in the job's unit", () => {
    const said = say`The float hung while ${litresTo(4, 1)} went in: ${litresOf(0.4)} low.`;
    expect(published(said)).toBe("The float hung while 4.0 L went in: 0.40\u00a0L low.");
    expect(saidIn(said, inLitres)).toBe(published(said));
    expect(read(said)).toBe("The float hung while 1.1 US gal went in: 0.11 US gal low.");
    expect(read(said, percent)).toBe("The float hung while 8.0 % of the tank went in: 0.80 % of the tank low.");
  });

  test("can be set into other prose, joined and begun with a large letter, and keeps its volumes", () => {
    const move = say`move that row in: ${litresOf(2)} are hidden`;
    const said = say`${capital(move)}. Else ${move}.`;
    expect(read(said)).toBe("Move that row in: 0.53 US gal are hidden. Else move that row in: 0.53 US gal are hidden.");
    expect(read(joined([move, "more"], "; "))).toBe("move that row in: 0.53 US gal are hidden; more");
    expect(capital("abc")).toBe("Abc");
  });

  test("names a range once, a half-width with its value, and what is typed by the unit that it is typed in", () => {
    expect(read(say`between ${litresBare(10, 0)} and ${litresTo(40, 0)}`)).toBe("between 2.6 and 11 US gal");
    expect(read(say`sits ${litresWithin(7.94, 1.31)} low`)).toBe("sits 2.10 ± 0.35 US gal low");
    expect(read(say`a rise of ${litresTyped(2, 1)}`, { ...gallons, litresInBrackets: true })).toBe(
      "a rise of 0.53 US gal (2.0 L)",
    );
    expect(read(say`State ${litresStated(1.25, 2)}, of ${litresOfTank(50, 1)}`, percent)).toBe(
      "State 1.25 L, of 50.0 L",
    );
  });
});
