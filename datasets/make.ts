/** Writes the example jobs again from their seeds: `npm run datasets`. */
import { mkdirSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { exampleNames, makeExample } from "./examples";

const here = dirname(fileURLToPath(import.meta.url));
for (const name of exampleNames) {
  mkdirSync(join(here, name), { recursive: true });
  for (const file of makeExample(name)) {
    writeFileSync(join(here, name, file.name), file.text);
    console.log(`${name}/${file.name}  ${file.text.length} bytes`);
  }
}
