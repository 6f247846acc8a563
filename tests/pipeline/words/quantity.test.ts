import { describe, expect, test } from "vitest";
import { setText } from "../../../src/format";
import { duration, litres, percent, rateText } from "../../../src/pipeline/words/quantity";

const plain = (text: string) => text.replaceAll("\u00a0", " ");

describe("how a number is written", () => {
  test("litres go no finer than a hundredth, and what is less says so", () => {
    expect([12.34, 1.234, 0.094, 0.0151, -0.47, 0].map((v) => plain(litres(null, v).text))).toEqual([
      "12 L",
      "1.2 L",
      "0.09 L",
      "0.02 L",
      "−0.47 L",
      "0 L",
    ]);
    expect(plain(litres(null, 0.000045).text)).toBe("less than 0.01 L");
    expect(plain(litres(null, -0.004).text)).toBe("less than 0.01 L");
  });

  test("what is set promises no digits behind it, and loses none before the point", () => {
    expect(
      [
        [17, "s"],
        [5.5, "s"],
        [0.56, "V"],
        [120, "s"],
        [0.0059, ""],
        [0, "L"],
      ].map(([v, u]) => plain(setText(v as number, u as string))),
    ).toEqual(["17 s", "5.5 s", "0.56 V", "120 s", "0.0059", "0 L"]);
  });

  test("rates are whole from ten on, and a rare event is not called none", () => {
    expect([0, 0.0333, 0.05, 0.44, 9.94, 9.97, 115.3].map(rateText)).toEqual([
      "0",
      "less than 0.1",
      "0.1",
      "0.4",
      "9.9",
      "10",
      "115",
    ]);
  });

  test("what is not certain is not 100 %, and what is possible not 0 %", () => {
    const said = (share: number, decimals = 0) => plain(percent(null, share, decimals).text);
    expect([1, 0.9997, 0.994, 0.66, 0.003, 0].map((s) => said(s))).toEqual([
      "100 %",
      "more than 99 %",
      "99 %",
      "66 %",
      "less than 1 %",
      "0 %",
    ]);
    expect([said(0.9997, 1), said(0.01, 1)]).toEqual(["more than 99.9 %", "1.0 %"]);
  });

  test("seconds are minutes from two minutes on and hours from two hours on, and carry what they are", () => {
    expect([39, 120, 276, 1440, 7200, 9000].map((s) => plain(duration(null, s).text))).toEqual([
      "39 s",
      "120 s",
      "4.6 min",
      "24 min",
      "120 min",
      "2.5 h",
    ]);
    expect(duration("driveLogs.0.duration_s", 1440)).toMatchObject({ value: 1440, times: 60 });
  });
});
