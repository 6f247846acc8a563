/** A job in US gallons: every leaf's face is in them, and what is typed in them is kept in litres. */
import { expect, test } from "vitest";
import { settled } from "./browser";
import { withExamples } from "./with-examples";

const open = withExamples();
const plain = (text: string | null) => (text ?? "").replaceAll("\u00a0", " ");
const inLitres = /\d L(?![\w/])|, L$|^L$/;

test("findings, conditions, drawings, choices and fields are in the job's unit, and a tolerance typed in it counts", async () => {
  const { page, context, errors } = await open("peat-hauler");
  const faces =
    ".finding, .contents li, .opening .margin p, figcaption, svg.drawn text, .key, .options li, .margin.level .field, #job .job-group[open] .field";
  const texts = (await page.locator(faces).allTextContents()).map(plain);
  expect(texts.length).toBeGreaterThan(200);
  expect(texts.filter((t) => inLitres.test(t.trim()))).toEqual([]);
  expect(texts.filter((t) => t.includes("US gal")).length).toBeGreaterThan(30);
  const tolerance = page.locator("#job").getByLabel("Right within ±");
  expect(await tolerance.inputValue()).toBe("1.585");
  await tolerance.fill("2");
  await tolerance.press("Enter");
  await settled(page);
  expect(plain(await page.locator("#job .finding").textContent())).toContain("± 2 US gal");
  const kept = await page.locator('#job [data-path="job.targets.tolerance_L"]').first().getAttribute("data-value");
  expect(Number(kept)).toBeCloseTo(2 * 3.785411784, 9);
  expect(await tolerance.inputValue()).toBe("2");
  expect(errors).toEqual([]);
  await context.close();
});
