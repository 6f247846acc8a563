/** Runs typed and brought by hand: a drain run counted from full, on a phone, with the keyboard; a file with two columns of one name. */
import AxeBuilder from "@axe-core/playwright";
import type { Page } from "playwright-core";
import { expect, test } from "vitest";
import { settled } from "./browser";
import { eachOnAnEmptyPage } from "./empty-page";

let page: Page;
eachOnAnEmptyPage(async (fresh) => {
  page = fresh;
  await page.setViewportSize({ width: 390, height: 844 });
});

const grid = (summary: string) => page.locator("#fill-run details", { hasText: summary }).last();
const cell = (summary: string, name: string) => grid(summary).locator(`input[data-cell="${name}"]`);
const says = () => page.locator("#fill-run .finding").textContent();
/** Opens a grid and types rows, all by keys. */
async function type(summary: string, rows: [string, string][]): Promise<void> {
  await page.locator("#fill-run summary", { hasText: summary }).focus();
  if (!(await cell(summary, "0.0").isVisible())) await page.keyboard.press("Enter");
  await cell(summary, "0.0").focus();
  for (const text of rows.flat()) {
    await page.keyboard.type(text);
    await page.keyboard.press("Enter");
  }
  await settled(page);
}
const drain: [string, string][] = ["4.1", "3.9", "3.55", "3.1", "2.7", "2.3", "1.8", "1.2", "0.6"].map((reading, i) => [
  i === 0 ? "0" : "5",
  reading,
]);
const kinds = async () => {
  const [saved] = await Promise.all([
    page.waitForEvent("download"),
    page.getByRole("button", { name: "Save the notebook" }).first().click(),
  ]);
  const { readFile } = await import("node:fs/promises");
  const text = await readFile(await saved.path(), "utf8");
  return (JSON.parse(text) as { fills: { name: string; kind: string }[] }).fills.map((f) => `${f.name}: ${f.kind}`);
};

test("a drain run is typed from full on a phone, by keys alone, and counts back from its end", async () => {
  await type("Type a drain run", drain);
  expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
  expect(await grid("Type a drain run").locator("tbody th").first().textContent()).toBe("full");
  await expect.poll(says).toMatch(/^9\ssteps.*40\.0\sL drawn in all/);
  expect((await new AxeBuilder({ page }).include("#fill-run").analyze()).violations.map((v) => v.id)).toEqual([]);
  // A slip of the sign is told where it is typed.
  await cell("Type a drain run", "9.0").fill("-5");
  await page.keyboard.press("Enter");
  await grid("Type a drain run").getByText("what was poured in goes into a fill run").waitFor();
  await cell("Type a drain run", "9.0").fill("");
  await page.keyboard.press("Enter");
  await expect.poll(() => page.locator("#fill-run").textContent()).not.toContain("Draw 9");
  await page.locator("#fill-run .saved-rows", { hasText: "All rows are saved" }).waitFor();
  await page.reload();
  await cell("Type a drain run", "8.1").waitFor();
  await settled(page);
  expect(await cell("Type a drain run", "8.1").inputValue()).toBe("0.6");
  expect(await cell("Type a drain run", "9.0").inputValue()).toBe("");
  expect(await kinds()).toEqual(["drained by hand.csv: drain"]);
});

test("a slip in a drain run is asked about while it is typed, and set right the question is gone", async () => {
  const slipped = drain.map(([poured, reading], i): [string, string] => [poured, i === 6 ? "1.3" : reading]);
  await type("Type a drain run", slipped);
  const fits = (row: number) => grid("Type a drain run").locator("tbody tr").nth(row).locator(".fits");
  const said = () => grid("Type a drain run").locator("tbody").textContent();
  await expect.poll(() => fits(5).textContent()).toContain("This row fits those before it.");
  // The row itself may be a bend; the next one tells.
  await expect.poll(() => fits(7).textContent()).toMatch(/Check: .*draw 6.*before the next draw/);
  expect(await said()).not.toContain("pour");
  expect((await new AxeBuilder({ page }).include("#fill-run").analyze()).violations.map((v) => v.id)).toEqual([]);
  await cell("Type a drain run", "6.1").fill("1.8");
  await page.keyboard.press("Enter");
  await expect.poll(said).not.toContain("Check:");
  await expect.poll(said).not.toContain("Being weighed");
  expect(await said()).not.toContain("Check:");
});

test("typed into the wrong grid, the rows go over with one key, and undo brings them back", async () => {
  await type("Type the steps", drain);
  await grid("Type the steps").getByRole("button", { name: "make it a drain run" }).press("Enter");
  await expect.poll(says).toMatch(/^9\ssteps.*drawn in all/);
  await settled(page);
  expect(await page.evaluate(() => document.activeElement?.textContent)).toContain("Type a drain run");
  expect(await cell("Type a drain run", "8.1").inputValue()).toBe("0.6");
  expect(await cell("Type the steps", "0.1").inputValue()).toBe("");
  await page.getByRole("button", { name: /^Undo “make it a drain run”/ }).click();
  await settled(page);
  expect(await cell("Type the steps", "8.1").inputValue()).toBe("0.6");
  expect(await kinds()).toEqual(["typed by hand.csv: fill"]);
});

test("a fill run and a drain run stand beside each other, and a unit behind a number is understood", async () => {
  const up: [string, string][] = [...drain]
    .reverse()
    .map(([, reading], i) => [i === 0 ? "0 L" : "5 L", `${reading} V`]);
  await type("Type the steps", up);
  expect(await grid("Type the steps").locator('[aria-invalid="true"]').count()).toBe(0);
  await type("Type a drain run", drain);
  await expect.poll(() => page.locator("#fill-run .opening").textContent()).toMatch(/2\sruns|drain/);
  expect(await kinds()).toEqual(["typed by hand.csv: fill", "drained by hand.csv: drain"]);
});

test("two columns of one name that differ are asked about, and the choice is there while the file cannot be read", async () => {
  const rows = Array.from(
    { length: 10 },
    (_, i) => `${i === 0 ? 0 : 5};${(0.5 + i / 5).toFixed(2)};${(0.7 + i / 5).toFixed(2)}`,
  );
  await page
    .locator("#fill-run input[type=file]")
    .first()
    .setInputFiles({
      name: "twice.csv",
      mimeType: "text/csv",
      buffer: Buffer.from(`added_L;sender_V;sender_V\n${rows.join("\n")}\n`),
    });
  await expect.poll(says).toMatch(/columns 2 and 3 are both called “sender_V” and differ/);
  await page.locator("#fill-run summary", { hasText: "Read it another way" }).click();
  const choice = page.getByLabel("The sender reading is", { exact: true });
  expect(await choice.locator("option").allTextContents()).toEqual([
    "not there",
    "added_L",
    "sender_V, column 2",
    "sender_V, column 3",
  ]);
  await choice.selectOption("sender_V, column 3");
  await settled(page);
  await expect.poll(() => page.locator("#circuit .finding").textContent()).toMatch(/from 0\.700?\sV empty/);
  expect(await choice.inputValue()).toBe("3");
  expect(await page.locator("#fill-run .file p.small").first().textContent()).toContain(
    "Volumes added with each pour.",
  );
});

test("a column taken for another is a doubt where it shows, each file says what it was read as, and what is chosen is what is read", async () => {
  const rows = (off: number) =>
    Array.from({ length: 9 }, (_, k) => `${k === 0 ? 0 : 5},${(0.5 + 0.4 * k + off).toFixed(3)},12.6${k % 3}`).join(
      "\n",
    );
  for (const [name, off] of [
    ["one.csv", 0],
    ["two.csv", 0.004],
  ] as const) {
    await page.locator('#fill-run input[type="file"]').setInputFiles({
      name,
      mimeType: "text/csv",
      buffer: Buffer.from(`poured L,sender V,battery V\n${rows(off)}\n`),
    });
    await page.locator("#fill-run .file", { hasText: name }).waitFor();
  }
  await settled(page);
  const file = (name: string) => page.locator("#fill-run .file", { hasText: name });
  const text = async (name: string) => (await file(name).locator("p").first().textContent())?.replaceAll("\u00a0", " ");
  expect(await text("two.csv")).toContain("Read as 9 steps, 40.0 L in all, from 0.504 V to 3.70 V.");
  await file("two.csv").locator("summary").click();
  const role = (label: string) => file("two.csv").getByLabel(label, { exact: true });
  await role("The sender reading is").selectOption("battery V");
  await settled(page);
  const doubt = page.locator("#fill-run .caution", { hasText: "these are not the same sender and the same litres" });
  await doubt.waitFor();
  expect(await page.locator("#fill-run").getAttribute("class")).toContain("doubtful");
  expect(await page.locator(".head").textContent()).toContain("these are not the same sender");
  await role("The sender reading is").selectOption("sender V");
  await settled(page);
  expect(await doubt.count()).toBe(0);
  // What is not there is not read, and the choice says so.
  expect(await role("The supply voltage is").inputValue()).toBe("battery V");
  await role("The supply voltage is").selectOption({ label: "not there" });
  await settled(page);
  expect(await role("The supply voltage is").inputValue()).toBe("");
  expect(await file("two.csv").locator("thead").textContent()).toContain("battery Vnot used");
});

test("what is picked is read whole, and half an engine pair asks for the other half", async () => {
  await page.locator("#job summary", { hasText: "As found" }).click();
  const says = page.getByLabel("The driver says");
  for (const value of ["lamp-in-a-corner", "slow-after-refuel"]) {
    await says.selectOption(value);
    const wide = await says.evaluate((e: HTMLSelectElement) => {
      const probe = document.createElement("span");
      probe.style.font = getComputedStyle(e).font;
      probe.style.position = "absolute";
      probe.textContent = e.selectedOptions[0]!.text;
      document.body.append(probe);
      const words = probe.getBoundingClientRect().width;
      probe.remove();
      return e.getBoundingClientRect().width - words;
    });
    // The arrow takes the rest.
    expect(wide, value).toBeGreaterThan(18);
  }
  await page.locator("#circuit summary", { hasText: "running engine" }).click();
  await page.getByLabel("Engine off it reads").fill("1.52");
  await page.getByLabel("Engine off it reads").press("Enter");
  const half = page.locator("#circuit", { hasText: "The other reading is still to come" });
  await half.waitFor();
  await page.getByLabel("Engine running it reads").fill("1.58");
  await page.getByLabel("Engine running it reads").press("Enter");
  await expect.poll(() => half.count()).toBe(0);
});
