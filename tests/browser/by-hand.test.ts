/** The page begun from nothing: what it asks for, and a complaint from its first line to its cause. */
import { readFile } from "node:fs/promises";
import AxeBuilder from "@axe-core/playwright";
import type { Page } from "playwright-core";
import { expect, inject, test } from "vitest";
import type { JobInput } from "../../src/pipeline/job";
import { settled } from "./browser";
import { eachOnAnEmptyPage } from "./empty-page";

let page: Page;
eachOnAnEmptyPage((fresh) => {
  page = fresh;
});

const axeFinds = async () =>
  (await new AxeBuilder({ page }).analyze()).violations.map((v) => `${v.id}: ${v.nodes[0]?.html.slice(0, 160)}`);

const says = () => page.locator("#fill-run .finding").textContent();

test("an empty notebook says what each leaf needs and where to begin, and nothing is at work for ever", async () => {
  await settled(page);
  expect(await page.locator(".head .finding").textContent()).toMatch(/Bring a fill run/);
  expect(await page.locator(".contents").textContent()).not.toContain("at work");
  expect(await says()).toMatch(/There is no fill run yet/);
  expect(await page.locator(".opening-page").count()).toBe(1);
  expect(await axeFinds()).toEqual([]);
  // The card by its own address says why there is nothing to type.
  await page.goto(`${inject("address")}#card`);
  await page.locator("#sheet").waitFor({ state: "hidden" });
  expect(await page.locator(".card").textContent()).toMatch(/nothing to type in yet/);
});

test("a complaint from nothing: the found table is copied in, a bad line is named, and a drive log brings the cause", async () => {
  await page.locator(".opening-page button", { hasText: "A complaint" }).click();
  await page.locator(".opening-page button", { hasText: "as found" }).click();
  const table = page.getByLabel("Its table, a row a line");
  expect(await table.isVisible(), "the way to what was found opens it").toBe(true);
  const job = JSON.parse(
    await readFile(new URL("../../datasets/fell-carrier/job.json", import.meta.url), "utf8"),
  ) as JobInput & { asFound: { table: { reading_V: number; volume_L: number }[] } };
  const rows = job.asFound.table.map((r) => `${r.reading_V}; ${r.volume_L}`);
  await table.fill(`${rows[0]}\nnot a row`);
  await table.blur();
  await page.getByRole("alert").filter({ hasText: "not a row" }).waitFor();
  await table.fill(rows.join("\n"));
  await table.blur();
  expect(await page.getByRole("alert").filter({ hasText: "not a row" }).count()).toBe(0);
  await settled(page);
  await page.locator("#drive-log input[type=file]").setInputFiles({
    name: "drive.csv",
    mimeType: "text/csv",
    buffer: await readFile(new URL("../../datasets/fell-carrier/drive.csv", import.meta.url)),
  });
  await page.waitForFunction(() => document.querySelector("#drive-log")?.classList.contains("stuck") === false);
  await settled(page);
  expect(await page.locator("#drive-log .finding").textContent()).toMatch(/in 20\smin the volume goes from/);
  expect(await page.locator("#display").getAttribute("class")).not.toContain("stuck");
  expect(await table.inputValue()).toBe(job.asFound.table.map((r) => `${r.reading_V}  ${r.volume_L}`).join("\n"));
  expect(await axeFinds()).toEqual([]);
});

test("a run in gallons offers the page in gallons, once: then all of it is", async () => {
  const rows = Array.from(
    { length: 12 },
    (_, i) => `${i};${i ? "1,25" : "0,00"};${(420 + 180 * i).toFixed(1).replace(".", ",")}`,
  );
  const text = `Bench export;;\n;;\nStep;Added;Sender\n-;US gal;mV\n${rows.join("\n")}\n`;
  await page
    .locator("#fill-run input[type=file]")
    .first()
    .setInputFiles({ name: "bench.csv", mimeType: "text/csv", buffer: Buffer.from(text) });
  const turn = page.getByRole("button", { name: "Turn the page to US gal" });
  await turn.waitFor();
  await settled(page);
  expect(await says()).toMatch(/^12\ssteps, 52\.0\sL in all/);
  await turn.click();
  await settled(page);
  await expect.poll(says).toMatch(/^12\ssteps, 13\.[78]\d?\sUS\sgal in all/);
  expect(await turn.count()).toBe(0);
  await page.getByRole("button", { name: /^Undo “change volumes in”/ }).click();
  await turn.waitFor();
});
