/**
 * Measured files of other people through the pipeline: each must go through, or be refused with a message of its own. The files are not
 * part of this project; the folder is given: `FILLBOOK_OPEN_DATA=folder npm run open-data`. Each file is taken once as a fill run and once as
 * a drive log, read through a made-up table over its own travel, so that only the form of the files is tried and not their meaning.
 */

import { createHash } from "node:crypto";
import { readdirSync, readFileSync } from "node:fs";
import { join, relative } from "node:path";
import { noChoices } from "../../src/pipeline/choices";
import { type Answers, answersOf, createPipeline } from "../../src/pipeline/index";
import { readRecording, type SourceFile } from "../../src/pipeline/recording";
import { published } from "../../src/said";

const folder = process.env.FILLBOOK_OPEN_DATA;
if (!folder) {
  process.stderr.write("Set FILLBOOK_OPEN_DATA to the folder that holds the files.\n");
  process.exit(2);
}
const files = readdirSync(folder, { recursive: true, encoding: "utf8" })
  .filter((f) => /\.(csv|tsv|dat|txt)$/i.test(f) && !/readme|licen[cs]e/i.test(f))
  .sort();
let faults = 0;

/** What became of the stages: ready ones counted, the first stuck one with its reason; a stage that threw is a fault. */
function outcome(answers: Answers, names: (keyof Answers)[]): string {
  const stuck = names.flatMap((n) => {
    const a = answers[n];
    return a.state === "stuck" ? [{ name: n, issue: a.issue }] : [];
  });
  const internal = stuck.find((s) => s.issue.code.endsWith("/internal"));
  if (internal) {
    faults++;
    return `FAULT in ${internal.name}: ${published(internal.issue.says)}`;
  }
  const [first] = stuck;
  return first ? `${first.name}: ${published(first.issue.says)}` : `all ${names.length} stages ready`;
}

for (const name of files) {
  const bytes = new Uint8Array(readFileSync(join(folder, name)));
  const sha256 = createHash("sha256").update(bytes).digest("hex");
  process.stdout.write(`${relative(".", name)}\n`);
  for (const kind of ["fill", "drive"] as const) {
    const source: SourceFile = { name, kind, bytes, sha256 };
    const started = performance.now();
    const read = readRecording(source, null);
    const ms = (performance.now() - started).toFixed(0);
    if (read.state !== "ready") {
      const said = read.state === "stuck" ? published(read.issue.says) : "";
      if (!said.includes(name)) faults++;
      process.stdout.write(`  ${kind}: refused: ${said}\n`);
      continue;
    }
    const { rows, columns, decided, oddLines } = read.value;
    const roles = columns.flatMap((c) => (c.role ? [`${c.role} = “${c.header}”${c.unit ? ` in ${c.unit}` : ""}`] : []));
    process.stdout.write(
      `  ${kind}: ${rows} rows in ${ms} ms, ${roles.join(", ") || "no roles"}; ${oddLines.length} odd. ${decided.says}\n`,
    );
    const reading = columns.find((c) => c.role === "reading");
    const finite = reading ? reading.values.filter((v) => Number.isFinite(v)) : new Float64Array();
    const low = finite.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
    const high = finite.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
    const unit = reading?.unit === "ohm" ? "ohm" : reading?.unit === "V" ? "V" : "count";
    const answers = answersOf(
      createPipeline({
        job:
          kind === "fill"
            ? {}
            : {
                readingUnit: unit,
                asFound:
                  high > low
                    ? {
                        table: [
                          { reading: low, volume_L: 0 },
                          { reading: high, volume_L: 50 },
                        ],
                      }
                    : {},
              },
        files: { fills: kind === "fill" ? [source] : [], drives: kind === "drive" ? [source] : [] },
        readings: {},
        choices: noChoices,
      }),
    );
    const stages: (keyof Answers)[] =
      kind === "fill"
        ? ["fillRun", "suspectSteps", "curve", "ends", "table", "verdict"]
        : ["driveLog", "noise", "display", "trial"];
    process.stdout.write(`    ${outcome(answers, stages)}\n`);
  }
}
process.stdout.write(`${files.length} files, ${faults === 0 ? "no fault" : `${faults} faults`}\n`);
process.exitCode = faults === 0 ? 0 : 1;
