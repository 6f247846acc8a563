/** Beside the tank: the sheet to pour by, and the grid on a phone. */
import AxeBuilder from "@axe-core/playwright";
import type { Page } from "playwright-core";
import { expect, test } from "vitest";
import { settled } from "./browser";
import { eachOnAnEmptyPage } from "./empty-page";

let page: Page;
eachOnAnEmptyPage((fresh) => {
  page = fresh;
});

const axeFinds = async () =>
  (await new AxeBuilder({ page }).analyze()).violations.map((v) => `${v.id}: ${v.nodes[0]?.html.slice(0, 160)}`);

test("while pouring on a phone: large digits, the screen kept on, each row kept at once, a half-typed one too", async () => {
  await page.addInitScript(() => {
    const asked: string[] = [];
    const lock = { addEventListener: () => undefined, release: async () => void asked.push("released") };
    Object.assign(window, { asked });
    Object.defineProperty(navigator, "wakeLock", {
      value: {
        request: async (kind: string) => {
          asked.push(kind);
          return lock;
        },
      },
      configurable: true,
    });
  });
  const asked = () => page.evaluate(() => (window as unknown as { asked: string[] }).asked);
  await page.setViewportSize({ width: 390, height: 844 });
  await page.reload();
  await page.waitForSelector("#fill-run .finding");
  await page.locator("#fill-run summary", { hasText: "Type the steps" }).click();
  const cell = (name: string) => page.locator(`input[data-cell="${name}"]`);
  await cell("0.0")
    .tap()
    .catch(() => cell("0.0").click());
  await expect.poll(asked).toEqual(["screen"]);
  expect(await page.locator(".saved-rows").textContent()).toContain("The screen stays on");
  expect(await page.getByRole("table", { name: "Steps of the fill run" }).count()).toBe(1);
  const size = await cell("0.1").evaluate((e) => Number.parseFloat(getComputedStyle(e).fontSize));
  expect(size).toBeGreaterThanOrEqual(32);
  const box = (await cell("0.1").boundingBox())!;
  expect(box.height).toBeGreaterThanOrEqual(44);
  expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
  for (const text of ["0", "0.30", "5", "0.51", "5"]) {
    await page.keyboard.type(text);
    await page.keyboard.press("Enter");
  }
  await page.locator(".saved-rows", { hasText: "All rows are saved" }).waitFor();
  expect(await axeFinds()).toEqual([]);
  // The reading is half typed when the phone is locked.
  await page.keyboard.type("0.7");
  await page.evaluate(() => {
    Object.defineProperty(document, "visibilityState", { value: "hidden", configurable: true });
    document.dispatchEvent(new Event("visibilitychange"));
  });
  await page.locator(".saved-rows", { hasText: "All rows are saved" }).waitFor();
  await page.reload();
  await page.waitForSelector(".pour-grid input");
  await expect.poll(() => cell("2.1").inputValue()).toBe("0.7");
  expect(await cell("1.1").inputValue()).toBe("0.51");
});

test("a browser that cannot keep the screen on says so", async () => {
  await page.addInitScript(() => {
    Object.defineProperty(Navigator.prototype, "wakeLock", { value: undefined, configurable: true });
  });
  await page.reload();
  await page.waitForSelector("#fill-run .finding");
  await page.locator("#fill-run summary", { hasText: "Type the steps" }).click();
  expect(await page.locator(".saved-rows").textContent()).toContain("cannot keep the screen on");
});

test("the pour sheet can be had before anything is measured", async () => {
  await page.getByRole("button", { name: "Pour sheet" }).click();
  await page.getByLabel("The tank holds").fill("58");
  await page.keyboard.press("Enter");
  await page.locator(".by-hand tbody tr").nth(8).waitFor();
  expect(await page.locator(".pour-sheet .finding").textContent()).toMatch(/Pour \d+ times/);
});

test("a sheet in US gallons is answered in US gallons, what asks for a check stands first, and a new sheet is in the job's unit", async () => {
  await page.locator("#fill-run summary", { hasText: "Type the steps" }).click();
  const unit = page.locator("#fill-run .pour-grid").getByLabel("in", { exact: true });
  await unit.first().selectOption("USgal");
  await page.locator('input[data-cell="0.0"]').focus();
  for (const [i, reading] of ["0.42", "0.83", "1.04", "1.22", "1.37", "1.51", "1.64", "1.78", "1.90"].entries()) {
    await page.keyboard.type(i === 0 ? "0" : i === 8 ? "10" : "1");
    await page.keyboard.press("Enter");
    await page.keyboard.type(reading);
    await page.keyboard.press("Enter");
  }
  const remarks = page.locator("#fill-run .fits").nth(8);
  await remarks.locator(".check").waitFor();
  expect(await remarks.textContent()).toMatch(/^Check:.+10\.00\sUS\sgal is about ten times the 1\.00\sUS\sgal/);
  expect(await remarks.textContent()).not.toMatch(/\d\sL\b/);
  await settled(page);
  expect(await page.locator("#fill-run .finding").textContent()).toMatch(/^9\ssteps, 17\.0\sUS\sgal in all/);
  // What the range waits for is asked in the job: the way there opens the field.
  await page.locator("#range-left button", { hasText: "Say how much is burnt" }).click();
  await expect
    .poll(() => page.evaluate(() => (document.activeElement as HTMLInputElement).labels?.[0]?.textContent))
    .toBe("Uses");
  // A sheet that is still empty is in the unit that the job states.
  await page.locator(".running button", { hasText: "New notebook" }).click();
  await page.locator("#fill-run .finding", { hasText: "no fill run yet" }).waitFor();
  await page.locator('#job details[data-group="Fill run"] summary').click();
  await page.getByLabel("Volumes in").selectOption("impgal");
  const grid = page.locator("#fill-run .pour-grid").first();
  if (!(await grid.isVisible())) await page.locator("#fill-run summary", { hasText: "Type the steps" }).click();
  await expect.poll(() => unit.first().inputValue()).toBe("impgal");
});

test("loaded again, the page opens where it was, with what stood half written in the field, and an example with what was made of it", async () => {
  const opened = () => page.waitForSelector("#fill-run .finding").then(() => settled(page));
  const hand = () =>
    page.evaluate(() => {
      const e = document.activeElement as HTMLInputElement;
      return { cell: e.dataset.cell, text: e.value, top: Math.round(e.getBoundingClientRect().top) };
    });
  await page.setViewportSize({ width: 390, height: 844 });
  await page.locator("#fill-run summary", { hasText: "Type the steps" }).click();
  await page.locator('input[data-cell="0.0"]').focus();
  for (const text of ["0", "2.56", "5", "2.45", "5", "2.34", "5", "2.22", "5", "2.10"]) {
    await page.keyboard.type(text);
    await page.keyboard.press("Enter");
  }
  await page.locator(".saved-rows", { hasText: "All rows are saved" }).waitFor();
  await settled(page);
  await page.keyboard.type("5");
  const before = await hand();
  expect(before).toMatchObject({ cell: "5.0", text: "5" });
  await page.reload();
  await opened();
  await expect.poll(hand).toEqual(before);
  // A note is taken over like a figure; the leaf that was read stands where it stood.
  await page.locator("#ends textarea").first().fill("ask for the");
  await page.reload();
  await opened();
  await expect.poll(hand).toMatchObject({ text: "ask for the" });
  await page.evaluate(() => (document.activeElement as HTMLElement).blur());
  await page.evaluate(() => document.getElementById("low-fuel")!.scrollIntoView());
  const top = () => page.evaluate(() => Math.round(document.getElementById("low-fuel")!.getBoundingClientRect().top));
  const read = await top();
  await page.reload();
  await opened();
  await expect.poll(top).toBe(read);
  expect(await page.locator("#ends textarea").first().inputValue()).toBe("ask for the");
  // An example is opened once by its address: loaded again, what was changed of it is there.
  await page.goto(`${new URL(page.url()).origin}/?example=reed-punt`);
  await page.locator("#job h2", { hasText: "L in all" }).waitFor();
  await expect.poll(() => page.url()).not.toContain("example");
  await settled(page);
  await page.locator("#job textarea").last().fill("seen on the boat");
  await page.locator("#job textarea").last().blur();
  await page.locator(".running", { hasText: /Saved on this computer/ }).waitFor();
  await page.reload();
  await opened();
  expect(await page.locator("#job textarea").last().inputValue()).toBe("seen on the boat");
});
