/** The burn of the drive log is taken as the consumption with one press, and given back by undo. */
import { expect, test } from "vitest";
import { settled } from "./browser";
import { withExamples } from "./with-examples";

const open = withExamples();
const plain = (text: string | null) => (text ?? "").replaceAll("\u00a0", " ");

test("one press takes the measured burn, undo names it and gives the stated one back", async () => {
  const { page, context, errors } = await open("fen-skiff");
  const leaf = page.locator("#range-left");
  const finding = async () => plain(await leaf.locator(".finding").textContent());
  const before = await finding();
  const offer = leaf.locator(".measured-burn");
  const burn = /burn of (.*?)\.?$/.exec(plain(await page.locator("#drive-log .finding").textContent()))![1]!;
  expect(plain(await offer.textContent())).toContain(`drive.csv measured ${burn}`);
  await leaf.getByRole("button", { name: "Take this burn of drive.csv as the consumption" }).focus();
  await page.keyboard.press("Enter");
  await settled(page);
  expect(plain(await offer.textContent())).toBe(`What drive.csv measured is taken: ${burn}.`);
  expect(await finding()).not.toBe(before);
  await page.getByRole("button", { name: "Undo “change the consumption to what drive.csv measured”" }).click();
  await settled(page);
  expect(await finding()).toBe(before);
  expect(errors).toEqual([]);
  await context.close();
});

test("a reserve by distance is told why the burn by the hour does not serve it", async () => {
  const { page, context } = await open("moor-runner");
  const offer = page.locator("#range-left .measured-burn");
  expect(plain(await offer.textContent())).toContain("your reserve is in km: state the reserve in hours or litres");
  expect(await offer.getByRole("button").count()).toBe(0);
  await context.close();
});
