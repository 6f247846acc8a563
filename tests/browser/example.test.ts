/** The page with each example open: every leaf filled, every figure the published one, readable, reachable, kept. */
import AxeBuilder from "@axe-core/playwright";
import type { Browser, BrowserContext, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, inject, test } from "vitest";
import type { Analysis } from "../../src/pipeline/analysis";
import { analysisOfExample, differences, type Shown } from "./analysis-of-example";
import { freshPage, launch, settled } from "./browser";

let browser: Browser;

beforeAll(async () => {
  browser = await launch();
});
afterAll(async () => {
  await browser?.close();
});

async function openExample(name: string): Promise<{ page: Page; context: BrowserContext; errors: string[] }> {
  const fresh = await freshPage(browser);
  await fresh.page.addInitScript(() => {
    const tasks: number[] = [];
    Object.assign(window, { longTasks: tasks });
    new PerformanceObserver((list) => tasks.push(...list.getEntries().map((e) => e.duration))).observe({
      type: "longtask",
      buffered: true,
    });
  });
  await fresh.page.goto(`${inject("address")}?example=${name}`);
  await fresh.page.waitForSelector("#hand-over .finding");
  await fresh.page.waitForFunction(() => document.querySelectorAll("[data-path]").length > 50);
  await settled(fresh.page);
  return fresh;
}

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

const shownOn = (page: Page): Promise<Shown[]> =>
  page.$$eval("[data-path]", (list) =>
    list.map((e) => ({
      path: e.getAttribute("data-path")!,
      value: e.getAttribute("data-value"),
      text: e.textContent ?? "",
      sizeOnly: e.hasAttribute("data-size-only"),
      times: Number(e.getAttribute("data-times") ?? 1),
    })),
  );

/** Which leaf shows a block: it is the one that may be stuck when the analysis says that the block was not computed. */
const leafOf: Record<string, string> = {
  job: "job",
  circuit: "circuit",
  fillRuns: "fill-run",
  curves: "curve",
  driveLogs: "drive-log",
  noise: "noise",
  display: "display",
  ends: "ends",
  table: "table",
  trial: "trial",
  lowFuel: "low-fuel",
  rangeLeft: "range-left",
  verdict: "verdict",
  settings: "hand-over",
};

const notComputed = (published: Analysis): string[] =>
  (published.notComputed as { what: string }[]).map(({ what }) => what);

/** What axe finds on the page as it stands; what a closed part hides is not rendered, and is not judged by it either. */
async function axeFinds(page: Page, what: { within?: string; rules?: string[] } = {}): Promise<string[]> {
  const axe = new AxeBuilder({ page });
  if (what.within) axe.include(what.within);
  if (what.rules) axe.withRules(what.rules);
  const { violations } = await axe.analyze();
  return violations.map(
    (v) =>
      `${v.id}: ${v.nodes
        .slice(0, 3)
        .map((n) => `${n.html.slice(0, 160)} ${n.failureSummary}`)
        .join(" | ")}`,
  );
}

/** What is wider than the page: a reader on a phone would have to push the sheet to and fro. */
const standsOut = (page: Page): Promise<string[]> =>
  page.evaluate(() =>
    document.documentElement.scrollWidth <= innerWidth
      ? []
      : [...document.querySelectorAll("body *")]
          .filter((e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".scroll, svg"))
          .slice(0, 4)
          .map((e) => `wider than the page: ${e.outerHTML.slice(0, 120)}`),
  );

/** Each width and each theme on every example; the other pairs, on one, differ from these in nothing that depends on the data. */
const combinations: [number, "light" | "dark"][] = [
  [1280, "light"],
  [820, "dark"],
  [390, "light"],
];
const otherCombinations: [number, "light" | "dark"][] = [
  [1280, "dark"],
  [820, "light"],
  [390, "dark"],
];

describe.each(["moor-runner", "peat-hauler", "fen-skiff"])("the example %s on the page", (name) => {
  let page: Page;
  let context: BrowserContext;
  let errors: string[];
  let published: Analysis;

  beforeAll(async () => {
    ({ page, context, errors } = await openExample(name));
    published = analysisOfExample(name);
  });
  afterAll(async () => {
    await context?.close();
  });

  test("every leaf is filled from the data, and stuck only where the analysis says so", async () => {
    const tasks = await page.evaluate(() => (window as unknown as { longTasks: number[] }).longTasks);
    console.log(
      `${name}: main-thread tasks over 50 ms while it opened, in ms: ${tasks.map(Math.round).join(", ") || "none"}`,
    );
    const leaves = await page.$$eval("section.leaf", (list) =>
      list.map((l) => ({
        name: l.id,
        stuck: l.classList.contains("stuck"),
        says: l.querySelector(".finding")?.textContent,
      })),
    );
    expect(leaves.length).toBeGreaterThanOrEqual(15);
    expect(leaves.filter((l) => !l.says)).toEqual([]);
    const mayBeStuck = notComputed(published).flatMap((what) => leafOf[what] ?? []);
    expect(leaves.filter((l) => l.stuck).map((l) => l.name)).toEqual(mayBeStuck);
    expect(errors).toEqual([]);
  });

  test("every shown figure is the published one, to its rounding, and every block that was computed is shown", async () => {
    const shown = await shownOn(page);
    const wrong = differences(published, shown);
    expect(wrong).toEqual([]);
    const missing = blocks.filter((b) => !shown.some(({ path }) => path === b || path.startsWith(`${b}.`)));
    expect(missing).toEqual(blocks.filter((b) => notComputed(published).includes(b)));
    // A figure is in one place of the page's own; behind "Every figure" it stands only for the record.
    const inWords = await page.$$eval(".finding [data-path], .margin [data-path]", (list) => list.length);
    expect(inWords).toBeGreaterThan(20);
  });

  test("axe finds nothing, on wide, tablet and phone paper, by day and by lamp", async () => {
    await page.evaluate(() => {
      for (const hidden of document.querySelectorAll("details:not([open]) > div")) hidden.remove();
    });
    const found: Record<string, string[]> = {};
    const nothing: Record<string, string[]> = {};
    for (const [width, colorScheme] of [...combinations, ...(name === "moor-runner" ? otherCombinations : [])]) {
      await page.setViewportSize({ width, height: 900 });
      await page.emulateMedia({ colorScheme, reducedMotion: "reduce" });
      // The dark sheet is the same sheet in other colours: only what judges colours can find something else there.
      const rules = colorScheme === "dark" ? { rules: ["color-contrast"] } : {};
      found[`${width} ${colorScheme}`] = [...(await axeFinds(page, rules)), ...(await standsOut(page))];
      nothing[`${width} ${colorScheme}`] = [];
    }
    expect(found).toEqual(nothing);
  }, 150_000);
});

describe.each(["reed-punt", "heath-dasher", "fell-carrier"])("the complaint %s on the page", (name) => {
  test("every shown figure is the published one, and every block that was computed is shown", async () => {
    const { page, context, errors } = await openExample(name);
    const published = analysisOfExample(name);
    const shown = await shownOn(page);
    expect(differences(published, shown)).toEqual([]);
    const missing = blocks.filter((b) => !shown.some(({ path }) => path === b || path.startsWith(`${b}.`)));
    // Two plain facts stand on the card alone, and without a fill run there is no card.
    const onCard = notComputed(published).includes("settings") ? ["unusableOffset_L", "decisionsNotConfirmed"] : [];
    expect(missing).toEqual(blocks.filter((b) => notComputed(published).includes(b) || onCard.includes(b)));
    expect(errors).toEqual([]);
    await context.close();
  });
});

describe("the page with an example open", () => {
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
    const { page, context } = await openExample("moor-runner");
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
    await context.close();
  });

  test("with values of one's own each leaf sets both sides by side, and every figure is the published one for these choices", async () => {
    const { page, context } = await openExample("moor-runner");
    const type = async (leaf: string, text: string) => {
      await page.locator(`#${leaf} .margin.level input.in`).first().fill(text);
      await page.keyboard.press("Enter");
      await settled(page);
    };
    await page.locator("#curve .opts button", { hasText: "Straight pieces" }).click();
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
    const { page, context } = await openExample("moor-runner");
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

  test("on paper the drawings are made anew and low, and paper is not wasted", async () => {
    const { page, context } = await openExample("fell-carrier");
    const heights = () =>
      page.$$eval("figure svg.drawn", (all) => all.map((e) => e.getAttribute("viewBox")!.split(" ")));
    const screen = await heights();
    await page.evaluate(() => dispatchEvent(new Event("beforeprint")));
    const paper = await heights();
    expect(paper.length).toBe(screen.length);
    paper.forEach(([, , width, height], i) => {
      expect(Number(width), "drawn for the printed column").toBe(510);
      expect(Number(height)).toBeLessThan(0.9 * Number(screen[i]![3]));
    });
    const last = page.locator(".stands-on");
    await page.emulateMedia({ media: "print" });
    expect(await last.locator(".hash").allTextContents()).toEqual([
      expect.stringMatching(/^[0-9a-f]{64}$/),
      expect.stringMatching(/^[0-9a-f]{64}$/),
    ]);
    expect(await last.locator("style").textContent()).toContain("No decision is left open.");
    await page.emulateMedia({ media: null });
    expect(await last.isVisible()).toBe(false);
    await page.evaluate(() => dispatchEvent(new Event("afterprint")));
    expect(await heights()).toEqual(screen);
    const pages = (await page.pdf({ format: "A4", preferCSSPageSize: true }))
      .toString("latin1")
      .match(/\/Type \/Page\b/g);
    // Fifteen leaves, seventeen drawings, the settings and the signatures.
    expect(pages!.length).toBeLessThanOrEqual(9);
    await context.close();
  });

  test("every figure of every leaf is in sight, on wide paper and on a phone, however long the words beside it", async () => {
    const { page, context } = await openExample("fen-skiff");
    await page.evaluate(() => {
      for (const part of document.querySelectorAll<HTMLDetailsElement>(".leaf .main > details")) part.open = true;
    });
    for (const width of [1280, 390]) {
      await page.setViewportSize({ width, height: 900 });
      const hidden = await page.$$eval('.scroll[aria-label$="every figure"]', (all) =>
        all.filter((e) => e.scrollWidth > e.clientWidth + 1).map((e) => e.getAttribute("aria-label")),
      );
      expect(hidden, `${width}`).toEqual([]);
    }
    await context.close();
  });

  test("axe finds nothing in a leaf with all its working and figures open", async () => {
    const { page, context } = await openExample("moor-runner");
    await page.evaluate(() => {
      for (const part of document.querySelectorAll<HTMLDetailsElement>("details"))
        if (part.closest("#curve")) part.open = true;
        else part.querySelector(":scope > div")?.remove();
    });
    expect(await axeFinds(page, { within: "#curve" })).toEqual([]);
    await context.close();
  }, 150_000);
});
