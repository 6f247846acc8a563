/** A browser on any machine: the one named, an installed one, or the one that comes with a package. */
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { delimiter, join } from "node:path";
import { type Browser, type BrowserContext, chromium, type Page } from "playwright-core";

const names = ["google-chrome", "google-chrome-stable", "chromium", "chromium-browser", "chrome"];
const usual = [
  "/usr/bin/google-chrome",
  "/usr/bin/chromium",
  "/usr/bin/chromium-browser",
  "/snap/bin/chromium",
  "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
  "/Applications/Chromium.app/Contents/MacOS/Chromium",
  "C:\\Program Files\\Google\\Chrome\\Application\\chrome.exe",
  "C:\\Program Files (x86)\\Google\\Chrome\\Application\\chrome.exe",
];

/** Where the packed browser lies unpacked (200 MB), and where temporary files went before; null while it is not. */
let unpacked: { folder: string; before: string | undefined } | null = null;
let running = 0;

/** The last browser is closed: what was unpacked for it goes too. */
function tidyUp(): void {
  running -= 1;
  if (running > 0 || !unpacked) return;
  rmSync(unpacked.folder, { recursive: true, force: true, maxRetries: 5, retryDelay: 100 });
  if (unpacked.before === undefined) delete process.env.TMPDIR;
  else process.env.TMPDIR = unpacked.before;
  unpacked = null;
}

/** FILLBOOK_BROWSER, else an installed Chrome or Chromium, else the one inside @sparticuz/chromium (Linux x64). */
export async function findBrowser(): Promise<string> {
  const named = process.env.FILLBOOK_BROWSER;
  if (named) {
    if (!existsSync(named)) throw new Error(`findBrowser: FILLBOOK_BROWSER names ${named}, which is not there`);
    return named;
  }
  const onPath = (process.env.PATH ?? "").split(delimiter).flatMap((folder) => names.map((n) => join(folder, n)));
  const installed = [...onPath, ...usual].find((path) => existsSync(path));
  if (installed) return installed;
  // The package unpacks its libraries only if it believes to be on that service, and trusts an old folder blindly.
  process.env.AWS_EXECUTION_ENV = "AWS_Lambda_nodejs22.x";
  unpacked ??= { folder: mkdtempSync(join(tmpdir(), "fillbook-browser-")), before: process.env.TMPDIR };
  process.env.TMPDIR = unpacked.folder;
  const { default: packed } = await import("@sparticuz/chromium");
  return packed.executablePath();
}

export async function launch(): Promise<Browser> {
  running += 1;
  try {
    const browser = await chromium.launch({
      executablePath: await findBrowser(),
      headless: true,
      args: ["--no-sandbox", "--disable-dev-shm-usage", "--disable-gpu"],
    });
    browser.once("disconnected", tidyUp);
    return browser;
  } catch (error) {
    tidyUp();
    throw error;
  }
}

/** A page of its own store, that fails the test on any error the page throws. */
export async function freshPage(
  browser: Browser,
  colorScheme: "light" | "dark" = "light",
): Promise<{ page: Page; context: BrowserContext; errors: string[] }> {
  const context = await browser.newContext({
    locale: "en-US",
    colorScheme,
    viewport: { width: 1280, height: 900 },
    reducedMotion: "reduce",
  });
  const page = await context.newPage();
  const errors: string[] = [];
  page.on("pageerror", (error) => errors.push(error.message));
  page.on("console", (message) => {
    if (message.type() === "error") errors.push(message.text());
  });
  return { page, context, errors };
}

/** Waits until every leaf has its answer and nothing is stale. */
export async function settled(page: Page): Promise<void> {
  await page.waitForFunction(
    () =>
      document.querySelectorAll(".leaf, .folded").length > 0 &&
      document.querySelectorAll(".stale").length === 0 &&
      // An answer that has not come yet is not stale: it was never there.
      ![...document.querySelectorAll(".finding, .folded-answer")].some(
        (e) => e.textContent?.trim() === "Being computed.",
      ),
    undefined,
    { timeout: 45_000 },
  );
}

/** An example as a new user opens it, in a page of its own, with every answer there; its long tasks stand in `window.longTasks`. */
export async function openExample(
  browser: Browser,
  address: string,
  name: string,
): Promise<Awaited<ReturnType<typeof freshPage>>> {
  const fresh = await freshPage(browser);
  await fresh.page.addInitScript(() => {
    const tasks: number[] = [];
    Object.assign(window, { longTasks: tasks });
    new PerformanceObserver((list) => tasks.push(...list.getEntries().map((e) => e.duration))).observe({
      type: "longtask",
      buffered: true,
    });
  });
  await fresh.page.goto(`${address}?example=${name}`);
  await fresh.page.waitForSelector("#hand-over .finding");
  await fresh.page.waitForFunction(() => document.querySelectorAll("[data-path]").length > 50);
  await settled(fresh.page);
  return fresh;
}
