/** Long and several drive logs on the page: a notebook saves without them, finds them again in this browser, and asks for them in another. */
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, inject, test } from "vitest";
import { writeNotebook } from "../../src/notebook/file";
import { emptyNotebook } from "../../src/notebook/notebook";
import { hourLog } from "../bench/hour-log";
import { freshPage, launch, settled } from "./browser";

let browser: Browser;
beforeAll(async () => {
  browser = await launch();
});
afterAll(async () => {
  await browser?.close();
});

const example = (name: string) => readFileSync(new URL(`../../datasets/moor-runner/${name}`, import.meta.url));
const fill = example("fill.csv");
const withoutDrive = writeNotebook({
  ...emptyNotebook,
  title: "a long drive",
  job: JSON.parse(example("job.json").toString()),
  fills: [{ name: "fill.csv", kind: "fill", bytes: fill, sha256: createHash("sha256").update(fill).digest("hex") }],
});

async function open(page: Page, text: string): Promise<void> {
  await page
    .locator("input[type=file][accept*=json]")
    .setInputFiles({ name: "n.json", mimeType: "application/json", buffer: Buffer.from(text) });
  await page.waitForFunction(() => !document.querySelector("#curve .finding")?.textContent?.includes("no fill run"));
  await settled(page);
}
async function bring(page: Page, name: string, text: string): Promise<void> {
  await page
    .locator("#drive-log input[type=file]")
    .first()
    .setInputFiles({ name, mimeType: "text/csv", buffer: Buffer.from(text) });
  await page.waitForFunction((n) => document.querySelector("#drive-log .finding")?.textContent?.includes(n), name);
  await settled(page);
}
const finding = (page: Page, leaf: string) => page.locator(`#${leaf} .finding`).textContent();
async function savedNotebook(page: Page): Promise<string> {
  const [download] = await Promise.all([
    page.waitForEvent("download"),
    page.getByRole("button", { name: "Save the notebook" }).first().click(),
  ]);
  return readFileSync(await download.path(), "utf8");
}

describe("a drive log of an hour at 100 Hz", () => {
  test("is named by its hash in the saved notebook, lies in this browser, and is asked for in another", async () => {
    const text = hourLog("moor-runner", 1);
    const sha256 = createHash("sha256").update(text).digest("hex");
    const first = await freshPage(browser);
    await first.page.goto(inject("address"));
    await open(first.page, withoutDrive);
    await bring(first.page, "hour.csv", text);
    const told = { display: await finding(first.page, "display"), trial: await finding(first.page, "trial") };
    const saved = await savedNotebook(first.page);
    expect(saved.length).toBeLessThan(1e6);
    expect(JSON.parse(saved).drives).toEqual([{ name: "hour.csv", sha256, bytes: text.length }]);

    // The same browser, loaded again, and then the saved file opened over an empty notebook.
    await expect.poll(() => first.page.getByText(/^Saved/).count()).toBeGreaterThan(0);
    await first.page.reload();
    await first.page.waitForFunction(() =>
      document.querySelector("#drive-log .finding")?.textContent?.includes("hour.csv"),
    );
    await settled(first.page);
    expect(await finding(first.page, "display")).toBe(told.display);
    await open(first.page, saved);
    expect(await finding(first.page, "trial")).toBe(told.trial);
    expect(first.errors).toEqual([]);
    await first.context.close();

    const other = await freshPage(browser);
    await other.page.goto(inject("address"));
    await open(other.page, saved);
    await other.page.getByRole("alert").filter({ hasText: "hour.csv belongs to this notebook" }).waitFor();
    await bring(other.page, "hour.csv", text);
    expect(await finding(other.page, "display")).toBe(told.display);
    expect(await other.page.getByRole("alert").filter({ hasText: "hour.csv" }).count()).toBe(0);
    expect(other.errors).toEqual([]);
    await other.context.close();
  });
});

describe("two drive logs", () => {
  test("are told of one by one, and the worst is named where the settings are", async () => {
    const { page, context, errors } = await freshPage(browser);
    await page.goto(inject("address"));
    await open(page, withoutDrive);
    await bring(page, "drive.csv", example("drive.csv").toString());
    const rows = hourLog("moor-runner", 2, 0.2);
    await bring(page, "second.csv", rows);
    expect(await finding(page, "drive-log")).toMatch(/drive\.csv: in.*second\.csv: in/);
    expect(await finding(page, "display")).toMatch(/Of the 2 logs (drive|second)\.csv is the worst/);
    expect(await page.locator("#drive-log figure .drawing").count()).toBe(2);
    expect(errors).toEqual([]);
    await context.close();
  });
});
