/** With an example open: choices are made, compared, pressed in a figure, undone and kept. */
import { expect, inject, test } from "vitest";
import { analysisOfExample, differences } from "./analysis-of-example";
import { settled } from "./browser";
import { shownOn } from "./looked-at";
import { withExamples } from "./with-examples";

const open = withExamples();

test("the comparison notices a wrong digit, a wrong value and a path that is not there", () => {
  const published = { display: { timeConstant_s: 10.04, has: true } };
  const path = "display.timeConstant_s";
  expect(differences(published, [{ path, value: "10.04", text: "10.0 s" }])).toEqual([]);
  expect(differences(published, [{ path, value: "10.04", text: "10.1 s" }])).toHaveLength(1);
  expect(differences(published, [{ path, value: "10.05", text: "10.0 s" }])).toHaveLength(1);
  expect(differences(published, [{ path: "display.lag_L", value: "1", text: "1 L" }])).toHaveLength(1);
  const low = { display: { timeConstant_s: -10.04 } };
  expect(differences(low, [{ path, value: "-10.04", text: "10.0 s", sizeOnly: true }])).toEqual([]);
  expect(differences(low, [{ path, value: "-10.04", text: "10.0 s" }])).toHaveLength(1);
  expect(differences(low, [{ path, value: "10.04", text: "10.0 s", sizeOnly: true }])).toHaveLength(1);
  expect(differences(published, [{ path: "display.has", value: "no", text: "no" }])).toHaveLength(1);
  const long = { log: { duration_s: 1440, lag_L: 0.004 } };
  const minutes = { path: "log.duration_s", value: "1440", times: 60 };
  expect(differences(long, [{ ...minutes, text: "24 min" }])).toEqual([]);
  expect(differences(long, [{ ...minutes, text: "25 min" }])).toHaveLength(1);
  expect(differences(long, [{ path: "log.lag_L", value: "0.004", text: "less than 0.01 L" }])).toEqual([]);
  expect(differences(long, [{ path: "log.lag_L", value: "0.004", text: "less than 0.001 L" }])).toHaveLength(1);
});

test("a choice is made, taken back and made again, each by name, and outlives a reload", async () => {
  const { page, context } = await open("moor-runner");
  const option = page.locator("#curve .options button", { hasText: "Straight pieces" });
  const undo = page.getByRole("button", { name: /^Undo .*straight pieces/ });
  await option.click();
  await settled(page);
  expect(await option.getAttribute("aria-pressed")).toBe("true");
  await undo.click();
  await settled(page);
  expect(await option.getAttribute("aria-pressed")).toBe("false");
  await page.getByRole("button", { name: /^Redo .*straight pieces/ }).click();
  await settled(page);
  const before = await page.locator("#curve .finding").textContent();
  await page.getByRole("status").filter({ hasText: "Saved" }).first().waitFor();
  await page.goto(inject("address"));
  await page.waitForFunction(() => document.querySelectorAll("[data-path]").length > 50);
  await settled(page);
  expect(await page.locator("#curve .finding").textContent()).toBe(before);
  expect(await option.getAttribute("aria-pressed")).toBe("true");
  await undo.click();
  await settled(page);
  expect(await option.getAttribute("aria-pressed")).toBe("false");
  expect(context.pages()).toHaveLength(1);
  await context.close();
});

test("with values of one's own each leaf sets both sides by side, and every figure is the published one for these choices", async () => {
  const { page, context } = await open("moor-runner");
  const type = async (leaf: string, text: string) => {
    await page.locator(`#${leaf} .margin.level input.write-on`).first().fill(text);
    await page.keyboard.press("Enter");
    await settled(page);
  };
  await page.locator("#curve .options button", { hasText: "Straight pieces" }).click();
  await settled(page);
  await type("display", "2");
  await type("ends", "0.08");
  await type("table", "4");
  await type("low-fuel", "3.5");
  await page.waitForFunction(() => document.querySelectorAll("#low-fuel .beside [data-path]").length > 0);
  await page.waitForFunction(() => document.querySelectorAll("[data-path]").length > 500);
  const published = analysisOfExample("moor-runner", {
    curve: { shape: "piecewise", knots: null },
    display: { timeConstant_s: 2, deadband_L: null },
    ends: { emptyMargin: 0.08, fullMargin: null },
    table: { points: 4 },
    lowFuel: { warnAtUsable_L: 3.5 },
  });
  expect(differences(published, await shownOn(page))).toEqual([]);
  for (const leaf of ["curve", "display", "ends", "table", "low-fuel"])
    expect(await page.locator(`#${leaf} .beside tbody tr`).count(), leaf).toBeGreaterThanOrEqual(3);
  await context.close();
});

test("a point pressed in the display's figure is taken as it stands there, and undone by its name", async () => {
  const { page, context } = await open("moor-runner");
  const place = page.locator("#display .pick", { hasText: "deadband 0.3 L" }).first();
  const says = (await place.textContent())!.replaceAll("\u00a0", " ");
  const [, seconds, turns] = /^([\d.]+) s, deadband 0\.3 L: ([\d.]+) a minute$/.exec(says)!;
  await place.click();
  await settled(page);
  const yours = await page.locator("#display .beside td.yours").allTextContents();
  expect(yours.slice(0, 3).map((t) => t.replaceAll("\u00a0", " "))).toEqual([`${seconds} s`, "0.3 L", turns]);
  await page.getByRole("button", { name: `Undo “take ${seconds}\u00a0s and a deadband of 0.3\u00a0L”` }).click();
  await settled(page);
  expect(await page.locator("#display .beside").count()).toBe(0);
  await context.close();
});
