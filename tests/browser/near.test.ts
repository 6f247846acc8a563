/** Looking closer: the interactive figure says what the drawing says, and stays open while its numbers are computed anew. */

import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, inject, test } from "vitest";
import { launch, openExample, settled } from "./browser";

let browser: Browser;
let page: Page;
let errors: string[];

beforeAll(async () => {
  browser = await launch();
  ({ page, errors } = await openExample(browser, inject("address"), "fen-skiff"));
});
afterAll(async () => {
  expect(errors).toEqual([]);
  await browser?.close();
});

const words = (leaf: string) =>
  page.$$eval(`#${leaf} .js-plotly-plot text`, (list) => list.map((t) => t.textContent ?? ""));

describe("looking closer", () => {
  test("the near figure has the marks, the steps on trial by number, and the words at the lines", async () => {
    const drawn = await page.locator("#curve figure svg text").allTextContents();
    const off = drawn.filter((t) => /^[\d.]+\sL off$/.test(t.trim()));
    expect(off).toHaveLength(1);
    await page.locator("#curve").getByRole("button", { name: "Look closer" }).click();
    await page.locator("#curve .js-plotly-plot .annotation").first().waitFor();
    const said = await words("curve");
    expect(said).toEqual(expect.arrayContaining(["6", "10", "two points"]));
    expect(said).toContain(off[0]!.trim());
  });

  test("it stays open, closely at the same place, and the focus and an opened part stay, when a choice changes the numbers", async () => {
    await page.locator("#curve summary", { hasText: "Working" }).click();
    // Looked at closely: the left half of the readings.
    const range = () =>
      page.$eval(
        "#curve .js-plotly-plot",
        (e) => (e as unknown as { layout: { xaxis: { range: number[] } } }).layout.xaxis.range,
      );
    const before = await range();
    await page.locator("#curve .js-plotly-plot").scrollIntoViewIfNeeded();
    const frame = (await page.locator("#curve .js-plotly-plot .nsewdrag").first().boundingBox())!;
    await page.mouse.move(frame.x + 10, frame.y + 20);
    await page.mouse.down();
    await page.mouse.move(frame.x + frame.width / 2, frame.y + frame.height / 2, { steps: 4 });
    await page.mouse.up();
    const close = await range();
    expect(close).not.toEqual(before);
    const first = await page.$eval("#curve .js-plotly-plot", (e) =>
      (e as unknown as { data: { y: number[] }[] }).data.flatMap((t) => t.y).reduce((a, b) => a + b, 0),
    );
    const option = page.locator("#curve .options button", { hasText: "One straight line" });
    await option.focus();
    await page.keyboard.press("Enter");
    await settled(page);
    expect(await page.locator("#curve .js-plotly-plot").count()).toBe(1);
    expect(await page.locator("#curve details", { hasText: "Working" }).first().getAttribute("open")).not.toBeNull();
    expect(await range()).toEqual(close);
    const second = await page.$eval("#curve .js-plotly-plot", (e) =>
      (e as unknown as { data: { y: number[] }[] }).data.flatMap((t) => t.y).reduce((a, b) => a + b, 0),
    );
    expect(second).not.toBeCloseTo(first, 3);
    expect(await option.evaluate((e) => e === document.activeElement)).toBe(true);
    await page.locator("#curve .js-plotly-plot").focus();
    await page.keyboard.press("Escape");
    await expect.poll(async () => (await range())[0]).toBeCloseTo(before[0]!, 9);
  });
});
