/** The same fill run in any dialect gives the same steps. Ten thousand of them: `npm run dialects`. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { findSteps } from "../../src/pipeline/fill-run";
import { type JobInput, resolveJob } from "../../src/pipeline/job";
import { readRecording } from "../../src/pipeline/recording";
import { anyDialect, anyRun, capacity_L, density_kg_per_L, writeDialect } from "./any-dialect";

const wanted = Number(process.env.FILLBOOK_DIALECTS ?? 400);

test(`a fill run in ${wanted} dialects gives the steps of the plain file, inside each column's rounding`, {
  timeout: 600_000,
}, () => {
  const input: JobInput = { tank: { capacity_L }, pour: { density_kg_per_L } };
  const job = resolveJob(input);
  if (job.state !== "ready") throw new Error("the job is sound");
  fc.assert(
    fc.property(anyRun, anyDialect, (run, dialect) => {
      const file = writeDialect(run, dialect);
      const read = readRecording({ name: "run.csv", kind: "fill", bytes: file.bytes, sha256: "0" }, null);
      expect(read.state).toBe("ready");
      if (read.state !== "ready") return;
      const { columns, decided, line } = read.value;
      expect(decided).toMatchObject({
        delimiter: dialect.delimiter,
        enteredAs: dialect.added ? "added" : "cumulative",
        headerLine: file.firstLine - (decided.unitsLine === null ? 1 : 2),
      });
      expect([...line]).toEqual(file.lineOfRow);
      const reading = columns.find((c) => c.role === "reading")!;
      expect(reading.unit).toBe(file.readingUnit);
      if (dialect.time !== "none") {
        const time = columns.find((c) => c.role === "time")!;
        expect(time.unit).toBe("s");
        expect([...time.values].map((t) => t - time.values[0]!)).toEqual(file.time_s);
      }
      const steps = findSteps([read.value], job.value);
      expect(steps.state).toBe("ready");
      if (steps.state !== "ready") return;
      const found = steps.value.runs[0]!.steps;
      expect(found.length).toBe(run.volumes_L.length);
      found.forEach((step, i) => {
        // Added pours carry the rounding of each pour before.
        const allowed = file.volumeRounding_L * (dialect.added ? i + 1 : 1) + 1e-9;
        expect(Math.abs(step.volume_L - run.volumes_L[i]!)).toBeLessThanOrEqual(allowed);
        expect(Math.abs(step.reading - file.readings[i]!)).toBeLessThanOrEqual(file.readingRounding + 1e-9);
      });
    }),
    { numRuns: wanted },
  );
});

test("pours that only ever grow: alike they are pours, uneven they are asked about, and a real count is none", () => {
  const read = (volumes: number[]) => {
    const rows = volumes.map((v, i) => `${v.toFixed(2)},${(0.5 + 0.2 * i).toFixed(2)}`);
    const bytes = new TextEncoder().encode(`volume (L),reading (V)\n${rows.join("\n")}\n`);
    const answer = readRecording({ name: "run.csv", kind: "fill", bytes, sha256: "0" }, null);
    if (answer.state !== "ready") throw new Error("the file can be read");
    return answer.value.decided;
  };
  expect(read([0, 3.02, 3.3, 3.41, 3.9, 4.06, 4.4, 4.83])).toMatchObject({ enteredAs: "added", enteredSure: true });
  expect(read([0, 2.0, 2.4, 3.0, 3.6, 4.2, 4.9]).enteredSure).toBe(false);
  expect(read([0, 3.02, 6.3, 9.41, 13.9, 17.06, 20.4, 24.83])).toMatchObject({
    enteredAs: "cumulative",
    enteredSure: true,
  });
});
