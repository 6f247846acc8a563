/** Numbers of one's own in the leaves: what cannot be taken is refused where it was typed, what the device rounds is said, and what was handed over is told from what stands there now. */
import type { Page } from "playwright-core";
import { beforeAll, describe, expect, test } from "vitest";
import { settled } from "./browser";
import { withExamples } from "./with-examples";

const open = withExamples();
let page: Page;
let errors: string[];
beforeAll(async () => {
  ({ page, errors } = await open("moor-runner"));
});

const plain = (text: string | null) => (text ?? "").replaceAll("\u00a0", " ");
const field = (leaf: string, label: string) =>
  page.locator(`#${leaf}`).getByRole("textbox", { name: label, exact: true });
async function type(leaf: string, label: string, text: string): Promise<void> {
  await field(leaf, label).fill(text);
  await field(leaf, label).press("Enter");
  await settled(page);
}
const said = async (leaf: string) => plain((await page.locator(`#${leaf} .refused`).allTextContents()).join(" "));
const finding = async (leaf: string) => plain(await page.locator(`#${leaf} .finding`).textContent());
const undo = async () => {
  await page.getByRole("button", { name: /^Undo/ }).click();
  await settled(page);
};

describe("numbers of one's own", () => {
  test("half a row is refused at its field, and no computation fails on it", async () => {
    await type("table", "Rows", "2.5");
    expect(await said("table")).toBe(
      "A table has two rows or more, and whole ones: 2.5 cannot be taken. The field counts as blank.",
    );
    expect(await field("table", "Rows").getAttribute("aria-invalid")).toBe("true");
    expect(await finding("ends")).toMatch(/^Empty is told at/);
    await type("table", "Rows", "");
    expect(await said("table")).toBe("");
  });

  test("margins that leave no travel keep their fields and the hand on them", async () => {
    await type("ends", "Margin at empty", "5");
    expect(await said("ends")).toMatch(/^The sender travels 2\.\d+ V: a margin stays under half of that\./);
    await type("ends", "Margin at empty", "0,7");
    await type("ends", "Margin at full", "0,8");
    expect(await finding("ends")).toBe("The margins take up most of the sender’s travel.");
    const full = field("ends", "Margin at full");
    expect(await full.evaluate((e) => e === document.activeElement)).toBe(true);
    await type("ends", "Margin at full", "");
    expect(await finding("ends")).toMatch(/^Empty is told at/);
    await type("ends", "Margin at empty", "");
  });

  test("what the device rounds is said beside the field, as leaf and card have it", async () => {
    await type("display", "Smoothing of your own", "7,3");
    expect(await finding("display")).toMatch(/^Smooth with 7\.5 s/);
    expect(await said("display")).toBe("The device has no 7.3 s: the nearest that it takes is 7.5 s, and that counts.");
    await undo();
    await type("low-fuel", "Warn at, usable", "6,4");
    const typed = page.locator('#hand-over .one-a-line [data-path="settings.warning.at"]');
    await expect.poll(() => typed.textContent()).toBe("7");
    expect(await said("low-fuel")).toBe("The device has no step there: it is typed as 7 L, rounded up.");
    await type("low-fuel", "Warn at, usable", "100");
    expect(await said("low-fuel")).toMatch(/^The tank holds 62\.8 L usable: .* 6\.4 still counts\.$/);
    await undo();
  });

  test("after the hand-over a changed number is told with what it was", async () => {
    await page.getByRole("button", { name: "Hand these settings over" }).click();
    const margin = page.getByLabel("hand-over, yours to choose");
    await expect.poll(async () => plain(await margin.textContent())).toContain("The same numbers stand here.");
    await type("low-fuel", "Warn at, usable", "9");
    await expect
      .poll(async () => plain(await margin.textContent()))
      .toMatch(/Since then 2 numbers have changed: Warn at was 6 L and is 9 L; Clear at was/);
  });

  test("what is pressed and goes with its own answer hands the focus on to the finding, not to the top of the sheet", async () => {
    const back = page.getByRole("button", {
      name: "Take what is recommended for the low fuel",
      exact: true,
    });
    await back.focus();
    await page.keyboard.press("Enter");
    await settled(page);
    await expect.poll(() => back.count()).toBe(0);
    const on = () => page.evaluate(() => document.activeElement?.closest("section")?.id ?? "nowhere");
    expect(await on()).toBe("low-fuel");
    await undo();
    await page.locator("#low-fuel .question").click();
    expect(await on()).toBe("nowhere");
  });

  test("a figure's table says of how many rows it shows the first, and saves all", async () => {
    const table = page.locator("#trial figure details").first();
    await table.locator("summary").click();
    expect(await table.locator("tbody tr").count()).toBe(200);
    const [, all] = /The first 200 of (\d+) rows/.exec(plain(await table.textContent()))!;
    expect(Number(all)).toBeGreaterThan(200);
    const [download] = await Promise.all([
      page.waitForEvent("download"),
      table.getByRole("button", { name: "Save all rows" }).click(),
    ]);
    const { readFileSync } = await import("node:fs");
    expect(
      readFileSync(await download.path(), "utf8")
        .trimEnd()
        .split("\n"),
    ).toHaveLength(Number(all) + 1);
  });

  test("the card on paper covers no number, and ticks none that was not entered", async () => {
    await page.evaluate(() => {
      location.hash = "#card";
    });
    await page.locator("#card button.box").first().click();
    await page.emulateMedia({ media: "print" });
    const { last, foot, ticks } = await page.evaluate(() => {
      const box = (s: string) => [...document.querySelectorAll(s)].at(-1)!.getBoundingClientRect();
      return {
        last: box("#card li").bottom,
        foot: box("#card footer").top,
        ticks: [...document.querySelectorAll("#card .pencil-tick")].filter((t) => t.checkVisibility()).length,
      };
    });
    expect(foot).toBeGreaterThanOrEqual(last);
    expect(ticks).toBe(1);
    await page.emulateMedia({ media: "screen" });
    expect(errors).toEqual([]);
  });
});
