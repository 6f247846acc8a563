/** The page begun from nothing: keyboard alone, bad files, hostile words, the pour sheet. */
import type { Browser, Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, inject, test } from "vitest";
import { writeNotebook } from "../../src/notebook/file";
import { emptyNotebook } from "../../src/notebook/notebook";
import { freshPage, launch, settled } from "./browser";

let browser: Browser;
let page: Page;
let errors: string[];

beforeAll(async () => {
  browser = await launch();
});
afterAll(async () => {
  await browser?.close();
});
beforeEach(async () => {
  ({ page, errors } = await freshPage(browser));
  await page.goto(inject("address"));
  await page.waitForSelector("#fill-run .finding");
});
afterEach(async () => {
  expect(errors).toEqual([]);
  await page.context().close();
});

/** Presses Tab until the focus stands on what is wanted. */
async function tabTo(selector: string, words = ""): Promise<void> {
  for (let i = 0; i < 300; i++) {
    await page.keyboard.press("Tab");
    const there = await page.evaluate(
      ([s, w]) => {
        const e = document.activeElement;
        return e?.matches(s!) === true && (e.textContent ?? "").includes(w!);
      },
      [selector, words],
    );
    if (there) return;
  }
  throw new Error(`tabTo: 300 presses of Tab never reached ${selector} ${words}`);
}

const bring = async (name: string, bytes: Buffer) => {
  await page.locator("#fill-run input[type=file]").first().setInputFiles({ name, mimeType: "text/csv", buffer: bytes });
  // The file is hashed before it is on the page: only then is there something to wait for.
  await page.getByText(name).first().waitFor({ state: "attached" });
  await settled(page);
};
const says = () => page.locator("#fill-run .finding").textContent();

describe("the page begun from nothing", () => {
  test("the keyboard alone types a run, judges a slip while it is typed, and chooses a shape", async () => {
    await tabTo("#fill-run summary", "Type the steps");
    await page.keyboard.press("Enter");
    await tabTo('input[data-cell="0.0"]');
    const readings = ["0,30", "0,50", "0,71", "0,90", "1,10", "1,20", "1,40", "1,61", "1,80", "2,00", "2,21"];
    for (const [i, reading] of readings.entries()) {
      await page.keyboard.type(i === 0 ? "0" : "5");
      await page.keyboard.press("Enter");
      await page.keyboard.type(reading);
      await page.keyboard.press("Enter");
      if (i === 5) await page.locator("#fill-run .check").first().waitFor();
    }
    expect(await page.locator('input[data-cell="0.0"]').inputValue(), "the first cell typed stays").toBe("0");
    await page.waitForFunction(() => document.querySelector("#curve")?.classList.contains("stuck") === false);
    await settled(page);
    expect(await says()).toMatch(/^11\ssteps/);
    await tabTo("#curve .opts button", "One straight line");
    await page.keyboard.press("Enter");
    await settled(page);
    expect(
      await page.locator("#curve .opts button", { hasText: "One straight line" }).getAttribute("aria-pressed"),
    ).toBe("true");
  });

  test("each bad file gets its own message, and the work before it stays", async () => {
    const cases: [string, Buffer, RegExp][] = [
      ["empty.csv", Buffer.from(""), /empty/],
      ["header.csv", Buffer.from("added_L,reading_V\n"), /there is one line and it holds no row of numbers/],
      ["picture.csv", Buffer.from([0x89, 0x50, 0x4e, 0x47, 0, 1, 2, 3, 0, 0, 0, 4, 5, 6]), /no text file/],
      ["one.csv", Buffer.from("added_L,reading_V\n0,0.5\n"), /one step|1 step|at least/i],
    ];
    for (const [name, bytes, message] of cases) {
      await bring(name, bytes);
      expect(await says(), name).toMatch(message);
      expect(await page.getByText(name).count(), `${name} is named`).toBeGreaterThan(0);
      await page.getByRole("button", { name: /^Undo/ }).click();
      await settled(page);
    }
  });

  test("a notebook cut short, or of a newer version, is refused with its reason", async () => {
    const whole = writeNotebook(emptyNotebook);
    const open = async (text: string) =>
      page
        .locator("input[type=file][accept*=json]")
        .setInputFiles({ name: "n.json", mimeType: "application/json", buffer: Buffer.from(text) });
    await open(whole.slice(0, 200));
    await page.getByRole("alert").filter({ hasText: "cut short" }).waitFor();
    await open(whole.replace('"version": 1', '"version": 9'));
    await page.getByRole("alert").filter({ hasText: "newer version (9" }).waitFor();
  });

  test("hostile words are only words", async () => {
    const attack = '<img src=x onerror="window.hacked=1">';
    const csv = `"added_L ${attack}",reading_V\n0,0.3\n5,0.5\n5,0.7\n5,0.9\n5,1.1\n5,1.3\n`;
    await bring(`${attack}.csv`, Buffer.from(csv));
    const text = writeNotebook({
      ...emptyNotebook,
      title: attack,
      about: attack,
      job: { name: attack },
      notes: { curve: { text: attack, at: "2026-01-01T00:00:00Z" } },
      looseNotes: [{ id: attack, after: "curve", text: attack, at: "2026-01-01T00:00:00Z" }],
    }).replace("{", '{"__proto__": {"polluted": 1}, "constructor": {"prototype": {"polluted": 1}},');
    await page
      .locator("input[type=file][accept*=json]")
      .setInputFiles({ name: "n.json", mimeType: "application/json", buffer: Buffer.from(text) });
    // The title stands in a field on the page; its text for print is in the page but not to be seen on screen.
    await page.getByText(attack).first().waitFor({ state: "attached" });
    await settled(page);
    const harm = await page.evaluate(() => ({
      hacked: "hacked" in window,
      polluted: "polluted" in {},
      images: document.querySelectorAll("img").length,
    }));
    expect(harm).toEqual({ hacked: false, polluted: false, images: 0 });
  });

  test("the pour sheet can be had before anything is measured", async () => {
    await page.getByRole("button", { name: "Pour sheet" }).click();
    await page.getByLabel("The tank holds").fill("58");
    await page.keyboard.press("Enter");
    await page.locator(".by-hand tbody tr").nth(8).waitFor();
    expect(await page.locator(".pour-sheet .finding").textContent()).toMatch(/Pour \d+ times/);
  });
});
