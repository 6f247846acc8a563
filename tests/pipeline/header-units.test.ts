import { describe, expect, test } from "vitest";
import { unitInHeader, unitOf } from "../../src/pipeline/header-units";
import { KM_PER_MILE, STANDARD_GRAVITY } from "../../src/units";

describe("unitInHeader", () => {
  test.each([
    ["time_s", "s", 1],
    ["Time (ms)", "s", 1e-3],
    ["Zeit/s", "s", 1],
    ["time_min", "s", 60],
    ["U / V", "V", 1],
    ["Sender (front) V", "V", 1],
    ["Spannung [mV]", "V", 1e-3],
    ["sender_Ω", "ohm", 1],
    ["Sender kΩ", "ohm", 1000],
    ["p1_adc", "count", 1],
    ["level %", "percent", 1],
    ["Volumen in Litern", "L", 1],
    ["poured, ml", "L", 1e-3],
    ["fuel [US gal]", "USgal", 1],
    ["poured imp. gal", "impgal", 1],
    ["added gallons", "gal", 1],
    ["added_g", "kg", 1e-3],
    ["across_g", "g", 1],
    ["accel_x (m/s²)", "g", 1 / STANDARD_GRAVITY],
    ["along_ms2", "g", 1 / STANDARD_GRAVITY],
    ["across_m_s2", "g", 1 / STANDARD_GRAVITY],
    ["accel x [m/s^2]", "g", 1 / STANDARD_GRAVITY],
    ["speed mph", "km/h", KM_PER_MILE],
    ["flow_gal_per_h", "gal/h", 1],
    ["flow (cc/min)", "L/h", 0.06],
    ["fuel flow [kg/h]", "kg/h", 1],
    ["flow_L_per_h", "L/h", 1],
    ["flow (l/min)", "L/h", 60],
    ["coolant (°C)", "°C", 1],
    ["kg added", "kg", 1],
    ["US gal added", "USgal", 1],
    ["No. of imp gal poured", "impgal", 1],
    ["gallons in total", "gal", 1],
    ["Litres added", "L", 1],
    ["poured (kg) net", "kg", 1],
    ["Sender (mV) front (left)", "V", 1e-3],
    ["mV sender", "V", 1e-3],
    ["ohms at sender", "ohm", 1],
    ["% filled", "percent", 1],
    ["percent added", "percent", 1],
    ["gallons (US) added", "USgal", 1],
    ["Gallons poured, gal [imp]", "impgal", 1],
    ["total gal (U.S.)", "USgal", 1],
  ])("%s is in %s", (header, unit, factor) => {
    expect(unitInHeader(header)).toMatchObject({ unit, factor });
  });

  test.each([
    "sender",
    "sender_min",
    "height_h",
    "sender_a",
    "tank C",
    "raw sender",
    "V added",
    "litres per 100 km",
    "kg/h used",
    "g across",
    "LONG_TERM_FUEL_TRIM_BANK_1 ()",
    "x",
    "t",
  ])("%s names no unit", (header) => {
    expect(unitInHeader(header)).toBeNull();
  });

  test("a unit is known however it is spaced and cased", () => {
    for (const written of ["US gal", "us_gal", "USGAL", "U.S. gal"]) expect(unitOf(written)?.unit).toBe("USgal");
    expect(unitOf("furlong")).toBeNull();
  });
});
