/** The page with an example open: every leaf filled, every figure the published one, readable, reachable, kept. */
import AxeBuilder from "@axe-core/playwright";
import type { Browser, BrowserContext, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, inject, test } from "vitest";
import { analysisOfExample, differences } from "./analysis-of-example";
import { freshPage, launch, settled } from "./browser";

let browser: Browser;
let page: Page;
let context: BrowserContext;
let errors: string[];

beforeAll(async () => {
  browser = await launch();
  ({ page, context, errors } = await freshPage(browser));
  await page.addInitScript(() => {
    const tasks: number[] = [];
    Object.assign(window, { longTasks: tasks });
    new PerformanceObserver((list) => tasks.push(...list.getEntries().map((e) => e.duration))).observe({
      type: "longtask",
      buffered: true,
    });
  });
  await page.goto(`${inject("address")}?example=moor-runner`);
  await page.waitForSelector("#hand-over .finding");
  await page.waitForFunction(() => document.querySelectorAll("[data-path]").length > 50);
  await settled(page);
});
afterAll(async () => {
  await browser?.close();
});

/** The blocks of the published contract. */
const blocks = [
  "unusableOffset_L",
  "decisionsNotConfirmed",
  "circuit",
  "fillRuns",
  "curves",
  "chosenCurve",
  "residuals",
  "band",
  "serviceBand",
  "noise",
  "display",
  "ends",
  "table",
  "tableError_L",
  "twoPointError_L",
  "lowFuel",
  "rangeLeft",
  "trial",
  "settings",
  "verdict",
];

describe("the example on the page", () => {
  test("every leaf is filled from the data and none is stuck", async () => {
    const tasks = await page.evaluate(() => (window as unknown as { longTasks: number[] }).longTasks);
    console.log(
      `main-thread tasks over 50 ms while the example opened, in ms: ${tasks.map(Math.round).join(", ") || "none"}`,
    );
    const leaves = await page.$$eval("section.leaf", (list) =>
      list.map((l) => ({
        name: l.id,
        stuck: l.classList.contains("stuck"),
        says: l.querySelector(".finding")?.textContent,
      })),
    );
    expect(leaves.length).toBeGreaterThanOrEqual(15);
    expect(leaves.filter((l) => l.stuck || !l.says)).toEqual([]);
    expect(errors).toEqual([]);
  });

  test("every shown figure is the published one, to its rounding, and every block of the contract is shown", async () => {
    const published = analysisOfExample("moor-runner");
    const shown = await page.$$eval("[data-path]", (list) =>
      list.map((e) => ({
        path: e.getAttribute("data-path")!,
        value: e.getAttribute("data-value"),
        text: e.textContent ?? "",
      })),
    );
    const wrong = differences(published, shown);
    expect(wrong).toEqual([]);
    const missing = blocks.filter((b) => !shown.some(({ path }) => path === b || path.startsWith(`${b}.`)));
    expect(missing).toEqual([]);
  });

  test("the comparison notices a wrong digit, a wrong value and a path that is not there", () => {
    const published = { display: { timeConstant_s: 10.04, has: true } };
    const path = "display.timeConstant_s";
    expect(differences(published, [{ path, value: "10.04", text: "10.0 s" }])).toEqual([]);
    expect(differences(published, [{ path, value: "10.04", text: "10.1 s" }])).toHaveLength(1);
    expect(differences(published, [{ path, value: "10.05", text: "10.0 s" }])).toHaveLength(1);
    expect(differences(published, [{ path: "display.lag_L", value: "1", text: "1 L" }])).toHaveLength(1);
    expect(differences(published, [{ path: "display.has", value: "no", text: "no" }])).toHaveLength(1);
  });

  test.each(["light", "dark"] as const)("axe finds nothing in %s", async (colorScheme) => {
    await page.emulateMedia({ colorScheme, reducedMotion: "reduce" });
    const { violations } = await new AxeBuilder({ page }).analyze();
    expect(
      violations.map(
        (v) =>
          `${v.id}: ${v.nodes
            .slice(0, 3)
            .map((n) => `${n.html.slice(0, 160)} ${n.failureSummary}`)
            .join(" | ")}`,
      ),
    ).toEqual([]);
  });

  test("a choice is made, taken back and made again, each by name, and outlives a reload", async () => {
    await page.emulateMedia({ colorScheme: "light", reducedMotion: "reduce" });
    const option = page.locator("#curve .opts button", { hasText: "Straight pieces" });
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
  });
});
