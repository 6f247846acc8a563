/** Sheets as they are typed, and the steps that are found in them. */
import { type FillRuns, findSteps } from "../../src/pipeline/fill-run";
import { type JobInput, resolveJob } from "../../src/pipeline/job";
import { type Recording, readRecording } from "../../src/pipeline/recording";
import { published } from "../../src/said";

export const jobOf = (input: JobInput) => {
  const job = resolveJob(input);
  if (job.state !== "ready") throw new Error("the job should resolve");
  return job.value;
};
export function recordingOf(text: string, kind: "fill" | "drain" = "fill", name = `${kind}.csv`): Recording {
  const read = readRecording({ name, kind, bytes: new TextEncoder().encode(text), sha256: name }, null);
  if (read.state !== "ready") throw new Error("the file should be readable");
  return read.value;
}
export const answerOf = (texts: string | [string, "fill" | "drain"][], input: JobInput = {}) =>
  findSteps(
    typeof texts === "string"
      ? [recordingOf(texts)]
      : texts.map(([t, kind], i) => recordingOf(t, kind, `${kind}${i}.csv`)),
    jobOf(input),
  );
export function runsOf(
  texts: string | [string, "fill" | "drain"][],
  input: JobInput = {},
): { value: FillRuns; codes: string[] } {
  const answer = answerOf(texts, input);
  if (answer.state !== "ready") throw new Error(answer.state === "stuck" ? published(answer.issue.says) : "waiting");
  return { value: answer.value, codes: answer.cautions.map((c) => c.code) };
}
export const stuckCode = (texts: string | [string, "fill" | "drain"][], input: JobInput = {}) => {
  const answer = answerOf(texts, input);
  return answer.state === "stuck" ? answer.issue.code : answer.state;
};
export const sheet = (rows: (string | number)[][], header = "added_L,sender_V") =>
  `${header}\n${rows.map((r) => r.join(",")).join("\n")}\n`;
export const plain = sheet([
  [0, 0.5],
  [5, 0.9],
  [5, 1.35],
  [5, 1.7],
  [5, 2.2],
  [5, 2.61],
]);
