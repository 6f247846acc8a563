/**
 * Bench of the page with a drive log of one hour at 100 Hz: `npm run bench:hour`; `npm run bench:hour -- --smooths volume` with a device that smooths
 * behind its table.
 *
 * The built page in Chromium, an example's job and fill run open, the log brought in through the file field. Told are the times from there until a
 * leaf's answer stands (wall, and processor seconds of the page's process, which are less at the mercy of what else the machine does), the
 * longest tasks of the page's own thread, and the same after a change of the job. Beside them papaparse alone on the same text in the same browser.
 */
import { createHash } from "node:crypto";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { parseArgs } from "node:util";
import type { Browser, CDPSession, Page } from "playwright-core";
import { writeNotebook } from "../../src/notebook/file";
import { emptyNotebook, type Notebook } from "../../src/notebook/notebook";
import { freshPage, launch } from "../browser/browser";
import { servePage } from "../browser/serve";
import { hourLog } from "./hour-log";
import { printRows, type Row } from "./signals";

const example = "moor-runner";
const wanted = { findings_s: 3, recompute_s: 1, task_ms: 100 };

/** What the page notes down about itself; it lives in the page. */
interface Notes {
  from: number;
  longTasks: { at: number; duration: number }[];
  /** When a leaf's answer last came to stand, by the leaf's name. */
  stood: Record<string, number>;
}

/** Runs in the page: when does which leaf's answer stand, and which tasks are long? */
function takeNotes(): void {
  const notes: Notes = { from: 0, longTasks: [], stood: {} };
  Object.assign(window, { notes });
  new PerformanceObserver((list) => {
    for (const e of list.getEntries()) notes.longTasks.push({ at: e.startTime, duration: e.duration });
  }).observe({ type: "longtask" });
  const stands = new Map<string, string>();
  const look = () => {
    for (const leaf of document.querySelectorAll(".leaf")) {
      const text = leaf.querySelector(".finding")?.textContent?.trim() ?? "";
      const state = leaf.classList.contains("stale") || text === "Being computed." ? "" : text || "(nothing)";
      if (state !== "" && stands.get(leaf.id) !== state) notes.stood[leaf.id] = performance.now();
      stands.set(leaf.id, state);
    }
  };
  // Counted from the change of a field or a file on: `true` hears it before the page does.
  addEventListener(
    "change",
    () => {
      notes.from = performance.now();
      notes.longTasks = [];
      notes.stood = {};
    },
    true,
  );
  new MutationObserver(look).observe(document, {
    subtree: true,
    childList: true,
    attributes: true,
    characterData: true,
  });
}

/** Processor seconds of the page's processes so far: page and worker are threads of one. */
async function rendererSeconds(session: CDPSession): Promise<number> {
  const { processInfo } = (await session.send("SystemInfo.getProcessInfo")) as {
    processInfo: { type: string; cpuTime: number }[];
  };
  return processInfo.filter((p) => p.type === "renderer").reduce((sum, p) => sum + p.cpuTime, 0);
}

interface Measured {
  notes: Notes;
  cpu_s: number;
  /** Processor milliseconds of the longest task on the page's own thread, and of all of them together. */
  task: { longest_ms: number; all_ms: number };
}

/** Tasks of the page's thread in a trace, by the processor time that they took: the wall says more of a busy machine than of the page. */
function tasksIn(trace: Buffer): Measured["task"] {
  const { traceEvents } = JSON.parse(trace.toString()) as {
    traceEvents: { name: string; pid: number; tid: number; tdur?: number; args: { name?: string } }[];
  };
  const mains = new Set(
    traceEvents
      .filter((e) => e.name === "thread_name" && e.args.name === "CrRendererMain")
      .map((e) => `${e.pid}.${e.tid}`),
  );
  const took_ms = traceEvents
    .filter((e) => e.name.endsWith("RunTask") && e.tdur !== undefined && mains.has(`${e.pid}.${e.tid}`))
    .map((e) => e.tdur! / 1000);
  return { longest_ms: Math.max(0, ...took_ms), all_ms: took_ms.reduce((a, b) => a + b, 0) };
}

/** Does something in the page and waits until nothing is stale and nothing is being computed any more. */
async function measured(browser: Browser, page: Page, act: () => Promise<void>): Promise<Measured> {
  const session = await browser.newBrowserCDPSession();
  const before = await rendererSeconds(session);
  await browser.startTracing(page, {
    categories: ["toplevel", "devtools.timeline", "disabled-by-default-devtools.timeline"],
  });
  await act();
  await page.waitForFunction(
    () => {
      const notes = (window as unknown as { notes: Notes }).notes;
      const answers = [...document.querySelectorAll(".finding, .folded-answer")].map((e) => e.textContent?.trim());
      return (
        notes.from > 0 &&
        performance.now() - notes.from > 200 &&
        document.querySelectorAll(".stale").length === 0 &&
        !answers.includes("Being computed.")
      );
    },
    undefined,
    { timeout: 120_000, polling: 250 },
  );
  // What is saved a quarter of a second later belongs to it too.
  await page.waitForTimeout(1000);
  const cpu_s = (await rendererSeconds(session)) - before;
  await session.detach();
  const task = tasksIn(await browser.stopTracing());
  return { task, cpu_s, notes: await page.evaluate(() => (window as unknown as { notes: Notes }).notes) };
}

const text = hourLog(example, 1);
const folder = mkdtempSync(join(tmpdir(), "fillbook-hour-"));
const logPath = join(folder, "hour.csv");
writeFileSync(logPath, text);
const read = (name: string) =>
  readFileSync(fileURLToPath(new URL(`../../datasets/${example}/${name}`, import.meta.url)));
const fill = read("fill.csv");
const { smooths } = parseArgs({ options: { smooths: { type: "string" } } }).values;
const stated = JSON.parse(read("job.json").toString());
const notebook: Notebook = {
  ...emptyNotebook,
  title: "one hour",
  job: smooths ? { ...stated, device: { ...stated.device, smooths } } : stated,
  fills: [{ name: "fill.csv", kind: "fill", bytes: fill, sha256: createHash("sha256").update(fill).digest("hex") }],
};
const { address, close } = await servePage();
const browser = await launch();
try {
  const reference = await readByPapaparse(browser);
  const { page, errors } = await freshPage(browser);
  // What runs this file names every function by a helper that the page does not have.
  await page.addInitScript("globalThis.__name = (f) => f");
  await page.addInitScript(takeNotes);
  await page.goto(address);
  await measured(browser, page, () =>
    page
      .locator("input[type=file][accept*=json]")
      .setInputFiles({ name: "hour.json", mimeType: "application/json", buffer: Buffer.from(writeNotebook(notebook)) }),
  );
  const rows: Row[] = [
    {
      task: `the log: ${(text.length / 1e6).toFixed(1)} MB, read by papaparse alone in a page`,
      result: `${reference.wall_s.toFixed(2)} s`,
      beside: `${reference.cpu_s.toFixed(2)} s of the processor: the reference`,
    },
  ];
  const brought = await measured(browser, page, () =>
    page.locator("#drive-log input[type=file]").first().setInputFiles(logPath),
  );
  rows.push(...rowsOf("log brought in", brought, ["drive-log", "display"], wanted.findings_s));
  for (const [what, label, value] of [
    ["a wish changed (reversals a minute)", "Display turns round at most", "3"],
    ["the device changed (displayed step)", "counting by", "2"],
    ["the tank changed (capacity)", "Holds, to the brim", "66"],
    ["the pours changed (error of one)", "give or take", "0.05"],
    ["the circuit changed (pull-up)", "Pull-up", "149"],
  ] as const) {
    const field = page.locator("#job").getByLabel(label, { exact: true });
    await field.evaluate((e) => e.closest("details")?.setAttribute("open", ""));
    const changed = await measured(browser, page, async () => {
      await field.fill(value);
      await field.press("Enter");
    });
    rows.push(...rowsOf(what, changed, ["drive-log", "display"], wanted.recompute_s));
  }
  console.log(printRows(rows));
  if (errors.length > 0) console.log(`the page threw: ${errors.join("; ")}`);
} finally {
  await browser.close();
  await close();
  rmSync(folder, { recursive: true, force: true });
}

function rowsOf(what: string, m: Measured, leaves: string[], limit_s: number): Row[] {
  const since = (t: number) => (t - m.notes.from) / 1000;
  const all = Math.max(0, ...Object.values(m.notes.stood).map(since));
  const tasks = m.notes.longTasks.sort((a, b) => b.duration - a.duration);
  const longest = tasks
    .slice(0, 4)
    .map((t) => `${Math.round(t.duration)} ms at ${since(t.at).toFixed(2)} s`)
    .join(", ");
  return [
    ...leaves.map((leaf) => ({
      task: `${what}: ${leaf} stands after`,
      result: m.notes.stood[leaf] === undefined ? "unchanged" : `${since(m.notes.stood[leaf]).toFixed(2)} s`,
      beside: `wanted: under ${limit_s}`,
    })),
    {
      task: `${what}: all leaves stand after`,
      result: `${all.toFixed(2)} s`,
      beside: `${m.cpu_s.toFixed(2)} s of the processor`,
    },
    {
      task: `${what}: longest task of the page's thread`,
      result: `${Math.round(m.task.longest_ms)} ms`,
      beside: `of the processor; wanted: under ${wanted.task_ms}; all tasks ${Math.round(m.task.all_ms)} ms; by the wall ${longest || "none over 50 ms"}`,
    },
  ];
}

/** The same text through papaparse, numbers made of every cell, in an empty page of the same browser. */
async function readByPapaparse(browser: Browser): Promise<{ wall_s: number; cpu_s: number }> {
  const { page, context } = await freshPage(browser);
  await page.setContent('<input type="file">');
  await page.addScriptTag({ content: "globalThis.__name = (f) => f" });
  await page.addScriptTag({ path: fileURLToPath(import.meta.resolve("papaparse/papaparse.min.js")) });
  await page.locator("input").setInputFiles(logPath);
  const session = await browser.newBrowserCDPSession();
  const before = await rendererSeconds(session);
  const wall_s = await page.evaluate(async () => {
    const { Papa } = window as unknown as { Papa: typeof import("papaparse") };
    const whole = await document.querySelector("input")!.files![0]!.text();
    const from = performance.now();
    let sum = 0;
    Papa.parse<string[]>(whole, {
      delimiter: ",",
      step: ({ data }) => {
        for (const cell of data) sum += Number(cell) || 0;
      },
    });
    return sum === 0 ? Number.NaN : (performance.now() - from) / 1000;
  });
  const cpu_s = (await rendererSeconds(session)) - before;
  await session.detach();
  await context.close();
  return { wall_s, cpu_s };
}
