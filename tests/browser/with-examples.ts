/** One browser for the tests of a file that open examples. */
import type { Browser } from "playwright-core";
import { afterAll, beforeAll, inject } from "vitest";
import { launch, openExample } from "./browser";

/** @returns what opens an example by its name, in a page of its own. */
export function withExamples(): (name: string) => ReturnType<typeof openExample> {
  let browser: Browser;
  beforeAll(async () => {
    browser = await launch();
  });
  afterAll(async () => {
    await browser?.close();
  });
  return (name) => openExample(browser, inject("address"), name);
}
