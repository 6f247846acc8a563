/** Which way imports point: leaves, ui -> notebook -> pipeline -> math, figure, answer, csv, said, quantity, units, format. Never back. */
import { readdirSync, readFileSync } from "node:fs";
import { dirname, join, relative, resolve, sep } from "node:path";
import { fileURLToPath } from "node:url";
import { describe, expect, test } from "vitest";

const src = fileURLToPath(new URL("../src", import.meta.url));

/** What each folder may reach into beside itself. */
const reach: Record<string, string[]> = {
  math: ["answer", "units"],
  figure: ["format", "units"],
  pipeline: ["math", "figure", "answer", "csv", "said", "quantity", "units", "format"],
  notebook: ["pipeline", "answer", "csv", "said", "quantity", "units", "format", "worker"],
  ui: ["notebook", "pipeline", "figure", "answer", "csv", "said", "quantity", "units", "format"],
  leaves: ["ui", "notebook", "pipeline", "figure", "answer", "csv", "said", "quantity", "units", "format"],
  answer: ["said"],
  said: ["quantity", "format"],
  quantity: ["format"],
  units: [],
  format: [],
  csv: ["answer", "units"],
  worker: ["pipeline", "answer"],
};

const files = readdirSync(src, { recursive: true, encoding: "utf8" }).filter(
  (f) => /\.tsx?$/.test(f) && !f.includes("node_modules"),
);
const layerOf = (path: string) => path.split(sep)[0]!.replace(/\.tsx?$/, "");

/** Paths named by import lines, those of types too; style sheets and packages left out. */
function importsOf(file: string): { layer: string; typeOnly: boolean }[] {
  const text = readFileSync(join(src, file), "utf8");
  const lines = text.matchAll(/(?:^|\n)\s*(import|export)\s+(type\s)?[^;]*?from\s+"(\.[^"]+)"|import\("(\.[^"]+)"\)/g);
  return [...lines].flatMap((m) => {
    const path = m[3] ?? m[4]!;
    if (/\.css$/.test(path)) return [];
    return [{ layer: layerOf(relative(src, resolve(src, dirname(file), path))), typeOnly: m[2] !== undefined }];
  });
}

describe("imports point one way", () => {
  test("every file is in a layer that is known here", () => {
    const doors = ["main", "cli", "selfcheck"];
    expect(files.length).toBeGreaterThan(50);
    expect([...new Set(files.map(layerOf))].filter((l) => !(l in reach) && !doors.includes(l))).toEqual([]);
  });

  test("no file reaches into a layer above its own", () => {
    const wrong = files.flatMap((file) => {
      const layer = layerOf(file);
      const allowed = reach[layer];
      if (!allowed) return [];
      return importsOf(file)
        .filter((i) => i.layer !== layer && !allowed.includes(i.layer))
        .map((i) => `${file} reaches into ${i.layer}`);
    });
    expect(wrong).toEqual([]);
  });

  test("the notebook takes only types from the worker", () => {
    const values = files
      .filter((f) => layerOf(f) === "notebook")
      .flatMap((f) =>
        importsOf(f)
          .filter((i) => i.layer === "worker" && !i.typeOnly)
          .map(() => f),
      );
    expect(values).toEqual([]);
  });

  test("math and pipeline read no clock, no page, no environment and no unseeded chance", () => {
    const impure =
      /\bprocess\.|\bDate\.now\(|\bnew Date\(\)|\bMath\.random\(|\bperformance\.now\(|\bdocument\.|\bwindow\.(?:document|location|navigator|print|open|add|remove|inner|match|request|set)/;
    const found = files
      .filter((f) => ["math", "pipeline", "figure"].includes(layerOf(f)) && !/interactive\.ts$/.test(f))
      .flatMap((f) =>
        readFileSync(join(src, f), "utf8")
          .split("\n")
          .flatMap((line, i) =>
            impure.test(line.replace(/\/\/.*$|^\s*\*.*$/, "")) ? [`${f}:${i + 1}: ${line.trim()}`] : [],
          ),
      );
    expect(found).toEqual([]);
  });
});
