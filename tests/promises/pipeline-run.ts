/** Runs the pipeline on a simulated job's file bytes, exactly as the command line does. */

import { createHash } from "node:crypto";
import type { WorldJob } from "../../datasets/world/job";
import type { Answer } from "../../src/answer";
import { noChoices } from "../../src/pipeline/choices";
import { type Answers, createPipeline, type StageName } from "../../src/pipeline/index";
import type { SourceFile } from "../../src/pipeline/recording";
import { published } from "../../src/said";

export interface PipelineRun {
  answers: Answers;
  /** What a stage threw: always a fault of the stage. */
  crashes: { stage: StageName; says: string; where: string }[];
  stuck: { stage: StageName; code: string }[];
  cautions: Partial<Record<StageName, string[]>>;
  /** Milliseconds a stage took with all that it depends on and nobody had asked for. */
  took_ms: Partial<Record<StageName, number>>;
}

export const sourceFile = (kind: SourceFile["kind"], file: { name: string; text: string }): SourceFile => {
  const bytes = new TextEncoder().encode(file.text);
  return { name: file.name, kind, bytes, sha256: createHash("sha256").update(bytes).digest("hex") };
};

/** The stages of a simulated job, each computed when it is read. */
export const pipelineOf = (world: Pick<WorldJob, "job" | "fillFiles" | "driveFiles">, withDrives = true) =>
  createPipeline({
    job: world.job,
    files: {
      fills: world.fillFiles.map((f) => sourceFile("fill", f)),
      drives: withDrives ? world.driveFiles.map((f) => sourceFile("drive", f)) : [],
    },
    readings: {},
    choices: { ...noChoices, seed: 1 },
  });

export function runPipeline(world: Pick<WorldJob, "job" | "fillFiles" | "driveFiles">, withDrives = true): PipelineRun {
  const pipeline = pipelineOf(world, withDrives);
  const answers: Partial<Record<StageName, Answer<unknown>>> = {};
  const run: Omit<PipelineRun, "answers"> = { crashes: [], stuck: [], cautions: {}, took_ms: {} };
  for (const [name, stage] of Object.entries(pipeline.stages) as [StageName, { read(): Answer<unknown> }][]) {
    const from = performance.now();
    try {
      const answer = stage.read();
      answers[name] = answer;
      // The engine turns what a stage throws into an issue `stage/internal`, which is handed on to all that need it.
      if (answer.state === "stuck" && answer.issue.code.endsWith("/internal")) {
        const thrower = answer.issue.code.replace("/internal", "") as StageName;
        if (!run.crashes.some((c) => c.stage === thrower))
          run.crashes.push({ stage: thrower, says: published(answer.issue.says), where: "" });
      } else if (answer.state === "stuck") run.stuck.push({ stage: name, code: answer.issue.code });
      if (answer.state === "ready" && answer.cautions.length > 0)
        run.cautions[name] = answer.cautions.map((c) => c.code);
    } catch (thrown) {
      const error = thrown as Error;
      const where = (error.stack ?? "").split("\n").find((line) => line.includes("/src/")) ?? "";
      run.crashes.push({
        stage: name,
        says: error.message,
        where: where.replace(/.*\/src\//, "src/").replace(/\)$/, ""),
      });
      answers[name] = { state: "waiting" };
    }
    run.took_ms[name] = performance.now() - from;
  }
  return { ...run, answers: answers as Answers };
}
