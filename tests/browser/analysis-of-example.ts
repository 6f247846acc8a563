/** The published analysis of an example, computed here and not on the page. */
import { createHash } from "node:crypto";
import { existsSync, readFileSync } from "node:fs";
import { type Analysis, analysisOf } from "../../src/pipeline/analysis";
import { type Choices, noChoices } from "../../src/pipeline/choices";
import { answersOf, createPipeline } from "../../src/pipeline/index";
import type { JobInput } from "../../src/pipeline/job";
import type { SourceFile } from "../../src/pipeline/recording";

const folder = new URL("../../datasets/", import.meta.url);

/** @param choices made by hand; those that are not named are left to the recommendation. */
export function analysisOfExample(name: string, choices: Partial<Choices> = {}): Analysis {
  const read = (file: string) => new Uint8Array(readFileSync(new URL(`${name}/${file}`, folder)));
  const source = (file: string, kind: SourceFile["kind"]): SourceFile => {
    const bytes = read(file);
    return { name: file, kind, bytes, sha256: createHash("sha256").update(bytes).digest("hex") };
  };
  // A complaint may come without a fill run.
  const filled = existsSync(new URL(`${name}/fill.csv`, folder));
  const files = { fills: filled ? [source("fill.csv", "fill")] : [], drives: [source("drive.csv", "drive")] };
  const job = JSON.parse(new TextDecoder().decode(read("job.json"))) as JobInput;
  const pipeline = createPipeline({ job, files, readings: {}, choices: { ...noChoices, ...choices } });
  return analysisOf(answersOf(pipeline), [...files.fills, ...files.drives], noChoices.seed);
}

/** What stands at a dotted path; undefined if nothing does. */
export function at(analysis: unknown, path: string): unknown {
  let here: unknown = analysis;
  for (const key of path.split(".")) {
    if (typeof here !== "object" || here === null || !Object.hasOwn(here, key)) return undefined;
    here = (here as Record<string, unknown>)[key];
  }
  return here;
}

/** The number that a text shows first, with half of its last digit; null if it shows none. */
export function shownNumber(text: string): { value: number; half: number } | null {
  const plain = text.replaceAll("\u2212", "-").replaceAll("\u00a0", " ");
  const found = /-?\d+(?:\.(\d+))?(?:e([+-]?\d+))?/i.exec(plain);
  if (!found) return null;
  const power = Number(found[2] ?? 0);
  const value = Number(found[0]);
  return { value, half: 0.5 * 10 ** (power - (found[1]?.length ?? 0)) };
}

export interface Shown {
  path: string;
  value: string | null;
  text: string;
  /** The words beside it say which way: only the size is in the text. What it carries keeps its sign. */
  sizeOnly?: boolean;
  /** The text is in a unit of which one holds so many of the published one: seconds written as minutes. */
  times?: number;
}

/** Every figure on the page that is not the published one: what it carries exactly, what it shows to its last digit. */
export function differences(published: Analysis, shown: Shown[]): string[] {
  return shown.flatMap(({ path, value, text, sizeOnly, times }) => {
    const there = at(published, path);
    if (typeof there === "boolean")
      return text === (there ? "yes" : "no") ? [] : [`${path}: shows ${text}, is ${there}`];
    if (typeof there !== "number")
      return String(there) === value ? [] : [`${path}: carries ${value}, is ${String(there)}`];
    const wrong: string[] = [];
    if (!(Math.abs(Number(value) - there) <= 1e-9 * Math.max(1, Math.abs(there))))
      wrong.push(`${path}: carries ${value}, is ${there}`);
    const number = shownNumber(text);
    const fits = (v: number) => number !== null && Math.abs(number.value - v) <= number.half * 1.0001 + 1e-12;
    // A share may be written in percent.
    const said = (sizeOnly ? Math.abs(there) : there) / (times ?? 1);
    // What is too small to be worth a digit is said to be less than one.
    const asText = text.includes("%") ? 100 * said : said;
    if (text.startsWith("more than "))
      return number !== null && asText > number.value && asText < 100
        ? wrong
        : [...wrong, `${path}: shows “${text}”, is ${there}`];
    if (text.startsWith("less than "))
      return number !== null && said !== 0 && Math.abs(asText) < number.value
        ? wrong
        : [...wrong, `${path}: shows “${text}”, is ${there}`];
    if (!fits(said) && !(text.includes("%") && fits(100 * said))) wrong.push(`${path}: shows “${text}”, is ${there}`);
    return wrong;
  });
}
