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

/** What a technician reads: findings, conditions, cautions, working; drawings and their tables; not what is typed into the device or which unit a file or field is in. */
const prose =
  ".finding, .further, .caution, .contents li, .summary p, .opening .margin p, .leaf-number small, .beside td, .working dt, .working dd, figcaption, svg.drawn text, .key, .options li, .pour-sheet p, .pour-sheet li";
const litresInBrackets = / \(\d[\d.]* L\)/g;

test("a job in litres that is changed to US gallons or percent has no litre left in any sentence, and comes back as it was", async () => {
  for (const name of ["fell-carrier", "moor-runner"]) {
    const { page, context, errors } = await open(name);
    const read = async () => {
      await page.evaluate(() => {
        for (const d of document.querySelectorAll("details")) d.open = true;
      });
      return (await page.locator(prose).allTextContents()).map((t) => plain(t).replaceAll(litresInBrackets, ""));
    };
    const before = await read();
    expect(before.filter((t) => inLitres.test(t)).length).toBeGreaterThan(30);
    for (const [unit, sign] of [
      ["USgal", "US gal"],
      ["percent", "% of the tank"],
    ] as const) {
      await page.locator("#job").getByLabel("Volumes in").selectOption(unit);
      await settled(page);
      const texts = await read();
      const typedOrWhole = /^Smoothing .* deadband|^\d+ L in all|of the \d+ L stated/;
      expect(texts.filter((t) => inLitres.test(t) && !typedOrWhole.test(t))).toEqual([]);
      expect(texts.filter((t) => t.includes(sign)).length).toBeGreaterThan(30);
    }
    await page.locator("#job").getByLabel("Volumes in").selectOption("L");
    await settled(page);
    const again = await read();
    expect(again.filter((t) => inLitres.test(t)).length).toBe(before.filter((t) => inLitres.test(t)).length);
    expect(errors).toEqual([]);
    await context.close();
  }
}, 240_000);
