/** What can be chosen by hand besides the recommended: what the device has, kinks of one's own, a part of a log; and what is looked at closely. */
import AxeBuilder from "@axe-core/playwright";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, inject, test } from "vitest";
import { launch, openExample, settled } from "./browser";

let browser: Browser;
let page: Page;
let errors: string[];

beforeAll(async () => {
  browser = await launch();
  ({ page, errors } = await openExample(browser, inject("address"), "fell-carrier"));
});
afterAll(async () => {
  await browser?.close();
});

const plain = (text: string | null) => (text ?? "").replaceAll("\u00a0", " ");
const finding = async (leaf: string) => plain(await page.locator(`#${leaf} .finding`).textContent());
const axeFinds = async (leaf: string) =>
  (await new AxeBuilder({ page }).include(`#${leaf}`).analyze()).violations.map((v) => `${v.id}: ${v.nodes[0]?.html}`);

describe("choices of one's own", () => {
  test("what the device has is ticked in the job, tried on the log, and taken back with undo", async () => {
    const device = page.locator('#job details[data-group="Device"]');
    await device.locator("summary").click();
    const median = device.getByRole("button", { name: "a median of the last readings" });
    expect(await median.getAttribute("aria-pressed")).toBe("false");
    await median.click();
    await settled(page);
    expect(await median.getAttribute("aria-pressed")).toBe("true");
    await page.waitForFunction(() =>
      [...document.querySelectorAll("#display .working")].some((w) => w.textContent?.includes("Median: median of")),
    );
    expect(await axeFinds("job")).toEqual([]);
    await page.getByRole("button", { name: "Undo “change whether it has a median of the last readings”" }).click();
    await settled(page);
    expect(await median.getAttribute("aria-pressed")).toBe("false");
  });

  test("what is no number is refused in words at its field, says what still counts, and is forgotten once mended", async () => {
    const field = page.locator("#job").getByLabel("Right within ±");
    await field.fill("1,5 or so");
    await field.blur();
    const refused = page.locator("#job .refused");
    expect(plain(await refused.textContent())).toBe("“1,5 or so” is no number: 1.5 still counts.");
    expect(await field.getAttribute("aria-invalid")).toBe("true");
    expect(await axeFinds("job")).toEqual([]);
    await field.fill("1,5");
    await field.blur();
    expect(await refused.count()).toBe(0);
  });

  test("kinks of one's own stay, one more is found beside them, a wrong one is refused in words, and another shape takes them out", async () => {
    const kinks = page.getByLabel("Kinks of your own, V");
    await kinks.fill("1,2");
    await kinks.press("Enter");
    await settled(page);
    await page.getByLabel("more that fit best").fill("1");
    await page.getByLabel("more that fit best").press("Enter");
    await settled(page);
    const working = plain((await page.locator("#curve .working").allTextContents()).join(" "));
    expect(working).toContain(
      "You typed these kinks; they stay where they are. Those you did not type stand where they leave least over.",
    );
    expect(working).toContain("kink typed at 1.20 V");
    expect(await page.locator("#curve .beside tbody tr").count()).toBeGreaterThanOrEqual(3);
    await kinks.fill("middle");
    await kinks.press("Enter");
    expect(await page.locator("#curve .margin [role=alert]").textContent()).toContain("Kinks are readings");
    expect(await axeFinds("curve")).toEqual([]);
    await page.locator("#curve .options button", { hasText: "Smooth" }).click();
    await settled(page);
    const heard = page.getByRole("status", { name: "What changed" });
    await expect.poll(() => heard.textContent()).toContain(await page.locator("#curve .finding").textContent());
    expect(await kinks.inputValue()).toBe("");
    expect(await page.locator("#curve .beside").count()).toBe(0);
  });

  test("a part of a log: its minutes are counted, said, and all of it again when they are taken out", async () => {
    const part = page.locator('#drive-log details[data-group="parts"]');
    await part.locator("summary").click();
    const from = part.getByLabel("drive.csv from");
    await from.fill("5");
    await from.press("Enter");
    await settled(page);
    await page.waitForFunction(() =>
      document.querySelector("#drive-log .finding")?.textContent?.includes("on, of its"),
    );
    expect(await finding("drive-log")).toMatch(/^drive\.csv, from 5\.0 min on, of its 20 min: in 15 min/);
    expect(await axeFinds("drive-log")).toEqual([]);
    await from.fill("");
    await from.press("Enter");
    await settled(page);
    expect(await finding("drive-log")).toMatch(/^drive\.csv: in 20 min/);
  });

  test("what is left over is drawn when it is looked at closely, and not before", async () => {
    expect(await page.locator("#curve figure").count()).toBe(1);
    await page.locator("#curve summary", { hasText: "Look at what is left over" }).click();
    await page.waitForFunction(() => document.querySelectorAll("#curve figure").length === 4);
    expect(await axeFinds("curve")).toEqual([]);
    const shots = process.env.FILLBOOK_SHOTS;
    if (shots)
      for (const leaf of ["job", "curve", "drive-log", "noise", "display"])
        await page.locator(`#${leaf}`).screenshot({ path: `${shots}/${leaf}.png` });
    expect(errors).toEqual([]);
  });
});
