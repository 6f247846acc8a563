/** Door 3: the pipeline off the page's thread. A newer request drops an older one between two stages. */
import type { Answer } from "./answer";
import { analysisOf } from "./pipeline/analysis";
import { noChoices } from "./pipeline/choices";
import { answersOf, createPipeline, type Sources, type StageName } from "./pipeline/index";
import type { SourceFile } from "./pipeline/recording";

export type ToWorker =
  | { say: "bytes"; sha256: string; bytes: Uint8Array }
  | {
      say: "compute";
      revision: number;
      sources: Omit<Sources, "files"> & { fills: Omit<SourceFile, "bytes">[]; drives: Omit<SourceFile, "bytes">[] };
    };

export type FromWorker =
  | { say: "answer"; revision: number; stage: StageName; answer: Answer<unknown> }
  | { say: "done"; revision: number; analysis: unknown };

const bytes = new Map<string, Uint8Array>();
const pipeline = createPipeline({ job: {}, files: { fills: [], drives: [] }, readings: {}, choices: noChoices });
const posted = new Map<StageName, Answer<unknown>>();
let sources: Sources = { job: {}, files: { fills: [], drives: [] }, readings: {}, choices: noChoices };
let newest = 0;

const post = (message: FromWorker) => (self as unknown as { postMessage(m: FromWorker): void }).postMessage(message);

/** Messages are copies: a part that says the same as before is the object from before, so that nothing is recomputed for it. */
function adopt<T>(before: T, next: T): T {
  return JSON.stringify(before) === JSON.stringify(next) ? before : next;
}

function adoptFiles(before: SourceFile[], next: Omit<SourceFile, "bytes">[]): SourceFile[] {
  const same =
    before.length === next.length &&
    before.every((f, i) => f.sha256 === next[i]!.sha256 && f.kind === next[i]!.kind && f.name === next[i]!.name);
  return same ? before : next.map((f) => ({ ...f, bytes: bytes.get(f.sha256) ?? new Uint8Array() }));
}

/** Heavy columns stay on this side. */
function light(answer: Answer<unknown>): Answer<unknown> {
  if (answer.state !== "ready") return answer;
  const strip = (value: unknown): unknown => {
    if (Array.isArray(value)) return value.map(strip);
    if (typeof value === "object" && value !== null && !ArrayBuffer.isView(value)) {
      const { columns, ...rest } = value as { columns?: unknown };
      if (columns === undefined) return value;
      // A recording keeps what its columns are, and five rows to look at; a drive log keeps its trace alone.
      if (!Array.isArray(columns)) return rest;
      return {
        ...rest,
        line: undefined,
        columns: columns.map((c: { values: Float64Array; valid: Uint8Array }) => ({
          ...c,
          values: c.values.slice(0, 5),
          valid: c.valid.slice(0, 5),
        })),
      };
    }
    return value;
  };
  return { ...answer, value: strip(answer.value) };
}

/** Between two stages the newest message gets its turn: asked for by a message, since timers that follow each other are made to wait for milliseconds. */
const turns: (() => void)[] = [];
const { port1: mine, port2: back } = new MessageChannel();
mine.onmessage = () => turns.shift()?.();
const nextTurn = () =>
  new Promise<void>((go) => {
    turns.push(go);
    back.postMessage(null);
  });

async function compute(revision: number): Promise<void> {
  for (const name of Object.keys(pipeline.stages) as StageName[]) {
    await nextTurn();
    if (revision !== newest) return;
    const answer = pipeline.stages[name].read() as Answer<unknown>;
    if (posted.get(name) !== answer) {
      posted.set(name, answer);
      post({ say: "answer", revision, stage: name, answer: light(answer) });
    } else post({ say: "answer", revision, stage: name, answer: { state: "waiting" } });
  }
  if (revision !== newest) return;
  post({
    say: "done",
    revision,
    analysis: analysisOf(answersOf(pipeline), [...sources.files.fills, ...sources.files.drives], sources.choices.seed),
  });
}

self.onmessage = ({ data }: MessageEvent<ToWorker>) => {
  if (data.say === "bytes") {
    bytes.set(data.sha256, data.bytes);
    return;
  }
  const next = data.sources;
  const choices = { ...next.choices };
  for (const key of Object.keys(choices) as (keyof typeof choices)[])
    (choices as Record<string, unknown>)[key] = adopt(sources.choices[key], choices[key]);
  sources = {
    job: adopt(sources.job, next.job),
    files: {
      fills: adoptFiles(sources.files.fills, next.fills),
      drives: adoptFiles(sources.files.drives, next.drives),
    },
    readings: adopt(sources.readings, next.readings),
    choices,
  };
  newest = data.revision;
  pipeline.set(sources);
  void compute(data.revision);
};
