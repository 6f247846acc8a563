/** One of the invented examples through the pipeline, as the command line runs it. */
import { createHash } from "node:crypto";
import { existsSync, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { noChoices } from "../../src/pipeline/choices";
import { answersOf, createPipeline, type Sources } from "../../src/pipeline/index";
import type { JobInput } from "../../src/pipeline/job";
import type { SourceFile } from "../../src/pipeline/recording";

export const exampleNames = ["moor-runner", "fen-skiff", "peat-hauler"] as const;
/** Complaints: some come without a fill run. */
export const complaintNames = ["reed-punt", "heath-dasher", "fell-carrier"] as const;
type Name = (typeof exampleNames)[number] | (typeof complaintNames)[number];

export const pathOf = (name: Name, file: string) =>
  fileURLToPath(new URL(`../../datasets/${name}/${file}`, import.meta.url));

export function sourceFile(name: string, kind: SourceFile["kind"], bytes: Uint8Array): SourceFile {
  return { name, kind, bytes, sha256: createHash("sha256").update(bytes).digest("hex") };
}

/** @param change what differs from the example. */
export function runExample(name: Name, change: (sources: Sources) => Sources = (s) => s) {
  const file = (f: string) => new Uint8Array(readFileSync(pathOf(name, f)));
  const sources = change({
    job: JSON.parse(new TextDecoder().decode(file("job.json"))) as JobInput,
    files: {
      fills: existsSync(pathOf(name, "fill.csv")) ? [sourceFile("fill.csv", "fill", file("fill.csv"))] : [],
      drives: [sourceFile("drive.csv", "drive", file("drive.csv"))],
    },
    readings: {},
    choices: noChoices,
  });
  return {
    sources,
    answers: answersOf(createPipeline(sources)),
    all: [...sources.files.fills, ...sources.files.drives],
  };
}

/** A sheet of a straight tank, typed: `rows` of volume and reading under the header given. */
export const sheet = (header: string, rows: [number, number][]): SourceFile =>
  sourceFile("sheet.csv", "fill", new TextEncoder().encode(`${header}\n${rows.map((r) => r.join(",")).join("\n")}\n`));
