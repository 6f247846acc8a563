/** Writes src/pipeline/analysis.schema.json anew: `npm run schema`. A test fails while the file is not current. */
import { writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { publishedSchema } from "../../src/pipeline/analysis-schema";

const path = fileURLToPath(new URL("../../src/pipeline/analysis.schema.json", import.meta.url));
writeFileSync(path, `${JSON.stringify(publishedSchema(), null, 1)}\n`);
