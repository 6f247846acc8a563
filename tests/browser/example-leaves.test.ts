/** Each example on the page: every leaf filled, every figure the published one, readable in each width and light. */
import type { BrowserContext, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import type { Analysis } from "../../src/pipeline/analysis";
import { analysisOfExample, differences } from "./analysis-of-example";
import { axeFinds, shownOn, standsOut } from "./looked-at";
import { withExamples } from "./with-examples";

const open = withExamples();

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
    ({ page, context, errors } = await open(name));
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
    const { page, context, errors } = await open(name);
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
