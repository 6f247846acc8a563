import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  asStated,
  inLitres,
  inWords,
  type Quantity,
  quantityInUnit,
  quantityOf,
  type Rounding,
  type VolumeWords,
  volumeUnitSigns,
} from "../src/quantity";
import { LITRES_PER_IMPGAL, LITRES_PER_USGAL } from "../src/units";

const units: Record<keyof typeof volumeUnitSigns, VolumeWords> = {
  L: inLitres,
  USgal: { sign: volumeUnitSigns.USgal, litres: LITRES_PER_USGAL, litresInBrackets: false },
  impgal: { sign: volumeUnitSigns.impgal, litres: LITRES_PER_IMPGAL, litresInBrackets: false },
  kg: { sign: volumeUnitSigns.kg, litres: 1 / 0.745, litresInBrackets: false },
  percent: { sign: volumeUnitSigns.percent, litres: 0.58, litresInBrackets: false },
};
const unitNames = Object.keys(units) as (keyof typeof units)[];

const roundings = fc.oneof<fc.Arbitrary<Rounding>[]>(
  fc.record({ by: fc.constant("figures" as const), figures: fc.integer({ min: 2, max: 4 }) }),
  fc.record({
    by: fc.constant("figures" as const),
    figures: fc.integer({ min: 2, max: 4 }),
    mostDecimals: fc.integer({ min: 1, max: 3 }),
  }),
  fc.record({ by: fc.constant("decimals" as const), decimals: fc.integer({ min: 0, max: 3 }) }),
  fc.record({ by: fc.constant("set" as const), figures: fc.integer({ min: 2, max: 4 }) }),
  fc.constant({ by: "tenth" as const }),
  fc.constant({ by: "half-width" as const }),
  fc.constant({ by: "stated" as const }),
);
const litres = fc.oneof(
  fc.constant(0),
  fc.double({ min: -400, max: 400, noNaN: true, noDefaultInfinity: true }),
  fc.double({ min: -0.1, max: 0.1, noNaN: true, noDefaultInfinity: true }),
);

/** A number as it is written, and the half of its last digit's place. */
function readBack(text: string): { value: number; within: number } {
  const digits = text.replace("\u2212", "-");
  const decimals = digits.split(".")[1]?.length ?? 0;
  return { value: Number(digits), within: 0.5 * 10 ** -decimals * (1 + 1e-9) };
}

describe("a quantity, by every way of rounding and in every unit", () => {
  test("read back from its text is the value within the digits that are written, and ends in its unit", () => {
    fc.assert(
      fc.property(
        litres,
        roundings,
        fc.double({ min: 0.01, max: 40, noNaN: true }),
        fc.constantFrom(...unitNames),
        fc.constantFrom("L", "L/h"),
        (value, rounding, halfWidth, name, unit) => {
          const volume = units[name];
          const own = quantityOf({
            path: null,
            value,
            unit,
            rounding,
            ...(rounding.by === "half-width" ? { halfWidth } : {}),
          });
          const q = quantityInUnit(own, volume);
          const sign = { L: volume.sign, "L/h": name === "percent" ? `${volume.sign} an hour` : `${volume.sign}/h` }[
            unit
          ]!;
          expect(q.unit).toBe(sign);
          expect(q.text.endsWith(`\u00a0${sign}`)).toBe(true);
          const digits = q.text.slice(0, -sign.length - 1);
          const wanted = value / volume.litres;
          if (digits.startsWith("less than ")) {
            expect(value).not.toBe(0);
            expect(Math.abs(wanted)).toBeLessThan(Number(digits.slice("less than ".length)) / 2);
            return;
          }
          const [first, half] = digits.split("\u00a0±\u00a0");
          const read = readBack(first!);
          // What is stated goes to its last digit, in another unit to four figures.
          const within = rounding.by === "stated" ? Math.max(1e-12, Math.abs(wanted) * 0.0005) : read.within;
          expect(Math.abs(read.value - wanted)).toBeLessThanOrEqual(within);
          expect(first).not.toMatch(/^\u22120(\.0*)?$/);
          if (rounding.by === "half-width") {
            const { value: readHalf, within } = readBack(half!);
            expect(Math.abs(readHalf - halfWidth / volume.litres)).toBeLessThanOrEqual(within);
            expect(half!.split(".")[1]?.length).toBe(first!.split(".")[1]?.length);
          }
          if (rounding.by === "set" || rounding.by === "tenth") expect(first).not.toMatch(/\.\d*0$|\.$/);
        },
      ),
      { numRuns: 4000, seed: 11 },
    );
  });

  test("has in another unit as many figures as in litres, two at least, and no more than two decimals", () => {
    const figures = (text: string) => text.replace(/[^\d]/g, "").replace(/^0+/, "").length;
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 400, noNaN: true }),
        fc.integer({ min: 0, max: 2 }),
        fc.constantFrom(...unitNames.filter((n) => n !== "L")),
        (value, decimals, name) => {
          const own = quantityOf({ path: null, value, unit: "L", rounding: { by: "decimals", decimals }, bare: true });
          const { text } = quantityInUnit(own, units[name]);
          expect(text.split(".")[1]?.length ?? 0).toBeLessThanOrEqual(2);
          const wanted = Math.max(2, figures(own.text));
          const written = text.split(".")[1]?.length ?? 0;
          // Two decimals may be too few for them, and what stands before the point may be more.
          if (written === 2) expect(figures(text)).toBeLessThanOrEqual(wanted);
          else if (written === 1) expect(figures(text)).toBe(wanted);
          else expect(figures(text)).toBeGreaterThanOrEqual(wanted);
        },
      ),
      { numRuns: 2000, seed: 12 },
    );
  });

  test("keeps its value and says how many litres one of it holds, and is the same object in litres", () => {
    const q = quantityOf({ path: "a.b_L", value: 38, unit: "L", rounding: { by: "figures", figures: 2 } });
    expect(quantityInUnit(q, inLitres)).toBe(q);
    for (const name of unitNames.filter((n) => n !== "L"))
      expect(quantityInUnit(q, units[name])).toMatchObject({ path: "a.b_L", value: 38, times: units[name].litres });
    expect(quantityInUnit(quantityInUnit(q, units.USgal), units.kg)).toEqual(quantityInUnit(q, units.USgal));
  });
});

describe("what stays as it is", () => {
  const q = (more: Omit<Partial<Quantity>, "text" | "rounding"> = {}) =>
    quantityOf({ path: null, value: 58, unit: "L", rounding: { by: "set", figures: 3 }, ...more });
  const texts = (quantity: Quantity) =>
    unitNames.map((n) => quantityInUnit(quantity, units[n]).text.replaceAll("\u00a0", " "));
  test("a field of the job is in gallons or in litres; what percent are of is in litres where the unit is percent", () => {
    expect(texts(q({ stated: "field" }))).toEqual(["58 L", "15 US gal", "13 imp gal", "58 L", "58 L"]);
    expect(texts(q({ stated: "whole" }))).toEqual(["58 L", "15 US gal", "13 imp gal", "43 kg", "58 L"]);
  });

  test("what is typed, and words of one's own", () => {
    expect(new Set(texts({ ...q(), asTyped: true }))).toEqual(new Set(["58 L"]));
    expect(new Set(texts(inWords(null, 58, "L", "all of it")))).toEqual(new Set(["all of it"]));
  });

  test("litres stand in brackets behind what is set where the device takes them, and not where the unit is left away", () => {
    const device = { ...units.USgal, litresInBrackets: true };
    const text = (quantity: Quantity) => quantityInUnit(quantity, device).text.replaceAll("\u00a0", " ");
    expect(text(q())).toBe("15 US gal (58 L)");
    expect(text(q({ bare: true }))).toBe("15");
    expect(text(q({ before: "±\u00a0", after: " or more" }))).toBe("± 15 US gal (58 L) or more");
    expect(
      text(
        quantityOf({
          path: null,
          value: 0.5,
          unit: "L a second",
          rounding: { by: "decimals", decimals: 2, set: true },
        }),
      ),
    ).toBe("0.13 US gal a second (0.50 L a second)");
    expect(text(quantityOf({ path: null, value: 58, unit: "L", rounding: { by: "figures", figures: 3 } }))).toBe(
      "15.3 US gal",
    );
  });
});

test("what was stated in a unit comes back as it was stated, over the litres", () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 4_000_000 }), fc.constantFrom(...unitNames), (tenThousandths, name) => {
      const stated = tenThousandths / 10_000;
      expect(asStated((stated * units[name].litres) / units[name].litres)).toBe(stated);
    }),
    { numRuns: 1000, seed: 13 },
  );
});
