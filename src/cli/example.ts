/** `example`: lists the invented examples, or writes the files of one into a folder. */
import { mkdirSync, readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { DataError, optionsIn, UsageError, writeOut } from "./given";

const datasets = fileURLToPath(new URL("../../datasets/", import.meta.url));

export function example(args: string[]): number {
  const { values, positionals } = optionsIn(args, { out: { type: "string" } });
  if (positionals.length > 1) throw new UsageError(`example takes one name, got ${positionals.length}`);
  const names = readdirSync(datasets, { withFileTypes: true })
    .filter((d) => d.isDirectory() && d.name !== "world")
    .map((d) => d.name);
  const name = positionals[0];
  if (!name) {
    for (const n of names)
      process.stdout.write(
        `${n}: ${
          readFileSync(join(datasets, n, "about.md"), "utf8")
            .split("\n")
            .find((l) => l.trim() && !l.startsWith("#"))
            ?.replace(/[*`]/g, "") ?? ""
        }\n`,
      );
    return 0;
  }
  if (!names.includes(name)) throw new UsageError(`there is no example "${name}"; there are ${names.join(", ")}`);
  if (!values.out) throw new UsageError("example NAME needs --out DIR");
  try {
    mkdirSync(values.out, { recursive: true });
  } catch (error) {
    throw new DataError(`${values.out}: the folder cannot be made (${(error as NodeJS.ErrnoException).code}).`);
  }
  for (const file of readdirSync(join(datasets, name))) {
    writeOut(join(values.out, file), readFileSync(join(datasets, name, file)));
    process.stdout.write(`${join(values.out, file)}\n`);
  }
  return 0;
}
