/** What cannot be read is told in words, and what is hostile stays words. */
import type { Page } from "playwright-core";
import { expect, test } from "vitest";
import { writeNotebook } from "../../src/notebook/file";
import { emptyNotebook } from "../../src/notebook/notebook";
import { settled } from "./browser";
import { eachOnAnEmptyPage } from "./empty-page";

let page: Page;
eachOnAnEmptyPage((fresh) => {
  page = fresh;
});

const bring = async (name: string, bytes: Buffer) => {
  await page.locator("#fill-run input[type=file]").first().setInputFiles({ name, mimeType: "text/csv", buffer: bytes });
  // The file is hashed before it is on the page: only then is there something to wait for.
  await page.getByText(name).first().waitFor({ state: "attached" });
  await settled(page);
};

const says = () => page.locator("#fill-run .finding").textContent();

test("each bad file gets its own message, and the work before it stays", async () => {
  const cases: [string, Buffer, RegExp][] = [
    ["empty.csv", Buffer.from(""), /empty/],
    ["header.csv", Buffer.from("added_L,reading_V\n"), /there is one line, and it is no row of numbers/],
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

test("a unit that no header names is stated where the remedy says it can be", async () => {
  const rows = Array.from({ length: 12 }, (_, i) => `${i === 0 ? 0 : 4};${300 + 150 * i}`);
  await bring("bare.csv", Buffer.from(`Zugabe;Geber\n${rows.join("\n")}\n`));
  await page.locator("#fill-run summary", { hasText: "Read it another way" }).click();
  await page.getByLabel("The sender reading is in").selectOption("mV");
  await settled(page);
  await expect.poll(() => page.locator("#fill-run .axt").first().textContent()).toBe("reading, V");
  expect(await page.locator("#circuit .finding").textContent()).toMatch(/from 0\.300\sV empty to 1\.95\sV full/);
  await page.getByRole("button", { name: /^Undo “read the file another way”/ }).click();
  await settled(page);
  expect(await page.getByLabel("The sender reading is in").inputValue()).toBe("");
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
