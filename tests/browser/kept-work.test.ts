/** Work outlives the page: also what the database had no time for, and an example opened by its address over it. */
import type { Page } from "playwright-core";
import { expect, test } from "vitest";
import { settled } from "./browser";
import { eachOnAnEmptyPage } from "./empty-page";

let page: Page;
eachOnAnEmptyPage((fresh) => {
  page = fresh;
});

const opened = () => page.waitForSelector("#fill-run .finding").then(() => settled(page));
const note = () => page.getByLabel("What it is about");
const title = () => page.getByLabel("Title", { exact: true });
const saved = () => page.locator(".running", { hasText: /Saved on this computer/ }).waitFor();
/** From here to the next load no write of the database ends, as when the page goes before it could. */
const stallDatabase = () =>
  page.evaluate(() => {
    IDBFactory.prototype.open = () => ({}) as IDBOpenDBRequest;
  });

test("what the database had no time for is there when the page is loaded again, can be undone, and is saved then", async () => {
  await note().fill("ask for the harness");
  await note().blur();
  await saved();
  await stallDatabase();
  await note().fill("the harness was new");
  await note().blur();
  await title().fill("Skiff with a new tank");
  await title().blur();
  await page.reload();
  await opened();
  expect(await note().inputValue()).toBe("the harness was new");
  expect(await title().inputValue()).toBe("Skiff with a new tank");
  await saved();
  expect(await page.evaluate(() => localStorage.getItem("fillbook-unsaved"))).toBeNull();
  await page.getByRole("button", { name: /^Undo/ }).click();
  expect(await note().inputValue()).toBe("ask for the harness");
  expect(await title().inputValue()).toBe("");
  // What was laid by once never comes back over later work.
  await saved();
  await page.reload();
  await opened();
  expect(await note().inputValue()).toBe("ask for the harness");
});

test("a save later than what was laid by counts, and what cannot be read is left", async () => {
  await page.evaluate(() => localStorage.setItem("fillbook-unsaved", '{"at": 9e15, "text": "{"'));
  await page.reload();
  await opened();
  await note().fill("by hand");
  await note().blur();
  await saved();
  await page.evaluate(() => {
    const text = '{"format":"fillbook-notebook","version":1,"title":"old","about":"","job":{},"fills":[]}';
    localStorage.setItem("fillbook-unsaved", JSON.stringify({ at: 1, name: "the title", text }));
  });
  await page.reload();
  await opened();
  expect(await note().inputValue()).toBe("by hand");
});

test("an example opened by its address lies over one’s own work: one step of undo brings it back", async () => {
  await note().fill("my own boat");
  await note().blur();
  await saved();
  await page.goto(`${new URL(page.url()).origin}/?example=reed-punt`);
  await page.locator("#job h2", { hasText: "L in all" }).waitFor();
  await settled(page);
  expect(await note().inputValue()).not.toBe("my own boat");
  await page.getByRole("button", { name: "Undo “open the example reed-punt”" }).click();
  await settled(page);
  expect(await note().inputValue()).toBe("my own boat");
});

test("undo that leads to a drive log of this browser brings the log too", async () => {
  const origin = new URL(page.url()).origin;
  await page.goto(`${origin}/?example=moor-runner`);
  await page.locator("#job h2", { hasText: "L in all" }).waitFor();
  await settled(page);
  await saved();
  await page.getByRole("button", { name: "New notebook" }).click();
  await saved();
  await page.goto(origin);
  await opened();
  await page.getByRole("button", { name: "Undo “begin a new notebook”" }).click();
  await page.locator("#drive-log .finding", { hasText: "a burn of" }).waitFor();
  await settled(page);
  expect(await page.getByText("This computer does not hold").count()).toBe(0);
});

test("a second window that saves is told in the first, until that saves again", async () => {
  await note().fill("the first window");
  await note().blur();
  await saved();
  const told = (p: Page) => p.getByRole("alert").filter({ hasText: "Another window has saved" });
  const second = await page.context().newPage();
  await second.goto(page.url());
  await second.waitForSelector("#fill-run .finding");
  await expect.poll(() => second.getByLabel("What it is about").inputValue()).toBe("the first window");
  await settled(second);
  // Opening is no saving.
  expect(await told(page).count()).toBe(0);
  await second.getByLabel("What it is about").fill("the second window");
  await second.getByLabel("What it is about").blur();
  await told(page).waitFor();
  expect(await told(second).count()).toBe(0);
  await note().fill("the first again");
  await note().blur();
  await told(second).waitFor();
  await expect.poll(() => told(page).count()).toBe(0);
  await second.close();
});
