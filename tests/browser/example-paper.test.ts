/** An example on paper, and with all its folded parts open. */
import { expect, test } from "vitest";
import { axeFinds } from "./looked-at";
import { printedSheets } from "./printed-sheets";
import { withExamples } from "./with-examples";

const open = withExamples();

test("on paper the drawings are made anew and low, and what it stands on is the last sheet's", async () => {
  const { page, context } = await open("fell-carrier");
  const heights = () => page.$$eval("figure svg.drawn", (all) => all.map((e) => e.getAttribute("viewBox")!.split(" ")));
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
  // A choice stands there as its whole word: an arrow to press would cut it off.
  const cut = await page.evaluate(() => {
    for (const group of document.querySelectorAll<HTMLDetailsElement>("#job details")) group.open = true;
    const pen = document.createElement("canvas").getContext("2d")!;
    return [...document.querySelectorAll<HTMLSelectElement>("#job select")].flatMap((select) => {
      const style = getComputedStyle(select);
      pen.font = style.font;
      const needs = pen.measureText(select.selectedOptions[0]!.text).width;
      const fits = style.appearance === "none" && select.clientWidth >= Math.floor(needs);
      return fits ? [] : [`${select.selectedOptions[0]!.text}: ${select.clientWidth} of ${needs}`];
    });
  });
  expect(cut).toEqual([]);
  await page.emulateMedia({ media: null });
  expect(await last.isVisible()).toBe(false);
  await page.evaluate(() => dispatchEvent(new Event("afterprint")));
  expect(await heights()).toEqual(screen);
  await context.close();
});

test.each([
  ["moor-runner", 9],
  ["peat-hauler", 9],
  ["fen-skiff", 8],
  ["fell-carrier", 9],
  ["heath-dasher", 5],
  ["reed-punt", 5],
])(
  "%s is printed on %i sheets at most, none but the last less than two thirds full, and nothing is shrunk to fit",
  async (name, most) => {
    const { page, context } = await open(name);
    await page.evaluate(() => dispatchEvent(new Event("beforeprint")));
    const sheets = printedSheets(await page.pdf({ format: "A4", preferCSSPageSize: true }));
    expect(sheets.length).toBeLessThanOrEqual(most);
    for (const [i, { width_px, filled }] of sheets.entries()) {
      // 177 mm at 96 pixels an inch.
      expect(width_px, `sheet ${i + 1}`).toBeLessThan(672);
      if (i + 1 < sheets.length) expect(filled, `sheet ${i + 1}`).toBeGreaterThan(2 / 3);
    }
    await context.close();
  },
);

test("every figure of every leaf is in sight, on wide paper and on a phone, however long the words beside it", async () => {
  const { page, context } = await open("fen-skiff");
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
  const { page, context } = await open("moor-runner");
  await page.evaluate(() => {
    for (const part of document.querySelectorAll<HTMLDetailsElement>("details"))
      if (part.closest("#curve")) part.open = true;
      else part.querySelector(":scope > div")?.remove();
  });
  expect(await axeFinds(page, { within: "#curve" })).toEqual([]);
  await context.close();
}, 150_000);
