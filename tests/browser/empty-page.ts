/** A browser for a file of tests, and for each of them an empty notebook on a page of its own, which must throw no error. */
import type { Browser, Page } from "playwright-core";
import { afterAll, afterEach, beforeAll, beforeEach, expect, inject } from "vitest";
import { freshPage, launch } from "./browser";

/** @param prepare is given each test's page before it is opened. */
export function eachOnAnEmptyPage(prepare: (page: Page) => void | Promise<void>): void {
  let browser: Browser;
  let open: Awaited<ReturnType<typeof freshPage>>;
  beforeAll(async () => {
    browser = await launch();
  });
  afterAll(async () => {
    await browser?.close();
  });
  beforeEach(async () => {
    open = await freshPage(browser);
    await prepare(open.page);
    await open.page.goto(inject("address"));
    await open.page.waitForSelector("#fill-run .finding");
  });
  afterEach(async () => {
    expect(open.errors).toEqual([]);
    await open.context.close();
  });
}
