/** The open notebook: the document in one signal, undo as the object before, answers kept current by the worker. */
import { type Accessor, createContext, createMemo, createSignal, useContext } from "solid-js";
import { createStore, reconcile } from "solid-js/store";
import { type Answer, waiting } from "../answer";
import { noChoices } from "../pipeline/choices";
import { type Answers, createPipeline, type StageName } from "../pipeline/index";
import type { Job } from "../pipeline/job";
import { type SourceFile, typedNames } from "../pipeline/recording";
import { volumeWordsOf } from "../pipeline/words/volume";
import { inLitres, type VolumeWords } from "../quantity";
import type { FromWorker, ToWorker } from "../worker";
import { hashOf, openChecked } from "./checked";
import { apply, type Edit, nameOf } from "./edits";
import { writeNotebook } from "./file";
import { headersOf } from "./mappings";
import { emptyNotebook, type Notebook } from "./notebook";
import { createSaving } from "./saving";
import { askToKeep, fileBytes, keepFile, loadState, recallReading } from "./store";
import { unsavedSince } from "./unsaved";

interface Step {
  name: string;
  notebook: Notebook;
}

/** Stage names in order, and which sources each depends on: known without computing anything. */
const graph = createPipeline({ job: {}, files: { fills: [], drives: [] }, readings: {}, choices: noChoices }).stages;
export const stageNames = Object.keys(graph) as StageName[];

/** Sources that differ between two notebooks, by the engine's names. */
function changedSources(a: Notebook, b: Notebook): Set<string> {
  const changed = new Set<string>();
  if (a.job !== b.job) changed.add("job input");
  if (a.fills !== b.fills) changed.add("fill files");
  if (a.drives !== b.drives) changed.add("drive files");
  if (a.readings !== b.readings) changed.add("readings");
  for (const key of Object.keys(b.choices) as (keyof Notebook["choices"])[])
    if (a.choices[key] !== b.choices[key]) changed.add(`choices.${key}`);
  return changed;
}

export type StageState = { [N in StageName]: { answer: Answers[N]; stale: boolean } };

/** @param tellSaved tells other windows of the page that this one has saved. */
export function createOpenNotebook(
  worker: Pick<Worker, "postMessage" | "onmessage" | "onerror">,
  tellSaved: () => void = () => undefined,
) {
  const [notebook, setNotebook] = createSignal<Notebook>(emptyNotebook);
  const [past, setPast] = createSignal<Step[]>([]);
  const [future, setFuture] = createSignal<Step[]>([]);
  const { saved, overtaken, save, saveNow, leave, failed, asSaved, otherSaved } = createSaving(
    () => ({ notebook: notebook(), past: past(), future: future() }),
    tellSaved,
  );
  const [analysis, setAnalysis] = createSignal<Record<string, unknown> | null>(null);
  const [progress, setProgress] = createSignal<{ stage: StageName; of: number; at: number } | null>(null);
  const [failure, setFailure] = createSignal<string | null>(null);
  const [missingDrives, setMissingDrives] = createSignal<string[]>([]);
  const [stages, setStages] = createStore<{ stale: Record<string, boolean> }>({ stale: {} });
  const answers = Object.fromEntries(
    stageNames.map((name) => [name, createSignal<Answer<unknown>>(waiting)]),
  ) as unknown as Record<StageName, [Accessor<Answer<unknown>>, (a: Answer<unknown>) => void]>;
  const volume = createMemo<VolumeWords>((before) => {
    const job = answers.job[0]() as Answer<Job>;
    return job.state === "ready" ? volumeWordsOf(job.value) : before;
  }, inLitres);
  const driveBytes = new Map<string, Uint8Array>();
  const sent = new Set<string>();
  let revision = 0;

  const send = (message: ToWorker, transfer: Transferable[] = []) => (worker as Worker).postMessage(message, transfer);
  const sendBytes = (sha256: string, bytes: Uint8Array) => {
    if (sent.has(sha256)) return;
    sent.add(sha256);
    // The page keeps the bytes for saving: the worker gets a copy.
    const copy = bytes.slice();
    send({ say: "bytes", sha256, bytes: copy }, [copy.buffer]);
  };

  function compute(before: Notebook | null, now: Notebook): void {
    const changed = before ? changedSources(before, now) : null;
    if (changed && changed.size === 0) return;
    const stale = Object.fromEntries(
      stageNames.map((name) => [
        name,
        stages.stale[name] === true || changed === null || [...changed].some((c) => graph[name].upstream.has(c)),
      ]),
    );
    setStages("stale", reconcile(stale));
    setAnalysis(null);
    revision += 1;
    for (const f of now.fills) sendBytes(f.sha256, f.bytes);
    const drives = now.drives.filter((d) => driveBytes.has(d.sha256));
    for (const d of drives) sendBytes(d.sha256, driveBytes.get(d.sha256)!);
    setMissingDrives(now.drives.filter((d) => !driveBytes.has(d.sha256)).map((d) => d.name));
    send({
      say: "compute",
      revision,
      sources: {
        job: now.job,
        readings: now.readings,
        choices: now.choices,
        fills: now.fills.map(({ bytes: _bytes, ...f }) => f),
        drives: drives.map((d) => ({ name: d.name, kind: "drive", sha256: d.sha256 })),
      },
    });
  }

  worker.onmessage = ({ data }: MessageEvent<FromWorker>) => {
    const current = data.revision === revision;
    if (data.say === "done") {
      if (!current) return;
      setProgress(null);
      setAnalysis(data.analysis as Record<string, unknown>);
      return;
    }
    // "waiting" from the worker means: the answer that it sent last. So each one is kept, those too that a newer edit overtook:
    // they stay marked as stale, and would be missing for good if the newer edit left them as they are.
    if (data.answer.state !== "waiting") answers[data.stage][1](data.answer);
    if (!current) return;
    setStages("stale", data.stage, false);
    const at = stageNames.indexOf(data.stage) + 1;
    setProgress(at < stageNames.length ? { stage: stageNames[at]!, at, of: stageNames.length } : null);
  };
  worker.onerror = (event) => {
    setFailure(
      `The computing part of the page failed: ${(event as ErrorEvent).message}. Your work is kept; load the page again.`,
    );
  };

  function move(to: Notebook): void {
    const before = notebook();
    setNotebook(to);
    compute(before, to);
    save();
    // Undo may lead to a drive log that lies in this browser and was not asked for since the page was opened.
    if (to.drives.some((d) => !driveBytes.has(d.sha256)))
      void bringDrives(to).then(() => {
        if (notebook() === to && to.drives.some((d) => driveBytes.has(d.sha256))) compute(null, to);
      });
  }

  const edit = (e: Edit): void => {
    const before = notebook();
    const after = apply(before, e, new Date().toISOString());
    if (after === before) return;
    setPast([...past(), { name: nameOf(e), notebook: before }]);
    setFuture([]);
    move(after);
  };
  const undo = (): void => {
    const steps = past();
    const last = steps[steps.length - 1];
    if (!last) return;
    setFuture([...future(), { name: last.name, notebook: notebook() }]);
    setPast(steps.slice(0, -1));
    move(last.notebook);
  };
  const redo = (): void => {
    const steps = future();
    const next = steps[steps.length - 1];
    if (!next) return;
    setPast([...past(), { name: next.name, notebook: notebook() }]);
    setFuture(steps.slice(0, -1));
    move(next.notebook);
  };

  async function addFile(file: { name: string; bytes: Uint8Array }, kind: SourceFile["kind"]): Promise<void> {
    const sha256 = await hashOf(file.bytes);
    const before = await recallReading(headersOf(file.bytes, kind));
    if (before && !notebook().readings[sha256]) edit({ edit: "read file", sha256, reading: before });
    if (kind === "drive") {
      driveBytes.set(sha256, file.bytes);
      await keepFile(sha256, file.bytes).catch(failed);
      const known = notebook().drives.some((d) => d.sha256 === sha256);
      if (known) compute(null, notebook());
      else edit({ edit: "add drive", drive: { name: file.name, sha256, bytes: file.bytes.length } });
    } else edit({ edit: "add file", file: { name: file.name, kind, bytes: file.bytes, sha256 } });
  }

  /** Writes the steps that are typed by hand in place of those typed before. */
  async function typeSteps(
    kind: "fill" | "drain",
    text: string,
    before: string | null,
    label: string,
  ): Promise<string> {
    const bytes = new TextEncoder().encode(text);
    const sha256 = await hashOf(bytes);
    if (sha256 === before) return sha256;
    edit({ edit: "replace file", before, file: { name: typedNames[kind], kind, bytes, sha256 }, label });
    // A row is poured once: it is kept at once, and the next one does not wait for that.
    void saveNow();
    return sha256;
  }

  /** Lays a drive log's bytes by before its notebook is opened; the store may refuse them, the page holds them anyway. */
  async function holdDrive(bytes: Uint8Array): Promise<string> {
    const sha256 = await hashOf(bytes);
    driveBytes.set(sha256, bytes);
    await keepFile(sha256, bytes).catch(failed);
    return sha256;
  }

  /**
   * Opens what was open last; false if there was nothing.
   * @param answer false where another notebook is laid over it next: it is a step of undo then, and not lost.
   */
  async function restore({ answer } = { answer: true }): Promise<boolean> {
    const state = await loadState().catch((error) => {
      setFailure(
        `What was open last could not be read from this browser: ${error instanceof Error ? error.message : error}.`,
      );
      return null;
    });
    const left = await unsavedSince(state);
    const last = left?.notebook ?? state?.notebook ?? null;
    if (last) {
      await bringDrives(last);
      setPast([
        ...(state?.past ?? []),
        ...(left ? [{ name: left.name, notebook: state?.notebook ?? emptyNotebook }] : []),
      ]);
      setFuture(left ? [] : state!.future);
      setNotebook(last);
      if (left) save();
      else asSaved();
    }
    // An empty notebook has answers too: what each leaf needs, and the defaults of the job.
    if (answer) compute(null, notebook());
    return last !== null;
  }

  async function bringDrives(n: Notebook): Promise<void> {
    for (const d of n.drives) {
      if (driveBytes.has(d.sha256)) continue;
      const bytes = await fileBytes(d.sha256).catch(() => null);
      if (bytes) driveBytes.set(d.sha256, bytes);
    }
  }

  /** Puts a whole notebook in place of the open one: one step of undo. */
  async function replace(n: Notebook, label: string): Promise<void> {
    await bringDrives(n);
    setPast([...past(), { name: label, notebook: notebook() }]);
    setFuture([]);
    setNotebook(n);
    compute(null, n);
    save();
    void askToKeep();
  }

  async function openText(text: string, label: string): Promise<Answer<Notebook>> {
    const opened = await openChecked(text);
    if (opened.state === "ready") await replace(opened.value, label);
    return opened;
  }

  return {
    notebook,
    answers: Object.fromEntries(stageNames.map((name) => [name, () => answers[name][0]()])) as unknown as {
      [N in StageName]: Accessor<Answers[N]>;
    },
    /** The unit that volumes are written in; while the job is being read again, the one before. */
    volume,
    stale: (name: StageName): boolean => stages.stale[name] === true,
    anyStale: (): boolean => stageNames.some((n) => stages.stale[n] === true),
    analysis,
    progress,
    failure,
    /** Says loudly that something of the page itself went wrong. */
    fail: (why: string): void => void setFailure(why),
    missingDrives,
    saved,
    /** Whether another window saved its notebook after this one. */
    overtaken,
    otherSaved,
    saveNow,
    leave,
    edit,
    undo,
    redo,
    undoName: (): string | null => past()[past().length - 1]?.name ?? null,
    redoName: (): string | null => future()[future().length - 1]?.name ?? null,
    addFile,
    typeSteps,
    holdDrive,
    /** The bytes of a file that is here; null for a drive log that must be brought again. */
    bytesOf: (sha256: string): Uint8Array | null =>
      notebook().fills.find((f) => f.sha256 === sha256)?.bytes ?? driveBytes.get(sha256) ?? null,
    restore,
    replace,
    openText,
    saveText: (): string => writeNotebook(notebook()),
  };
}

export type OpenNotebook = ReturnType<typeof createOpenNotebook>;

const Context = createContext<OpenNotebook>();
export const NotebookProvider = Context.Provider;

/** How a leaf reaches the open notebook. */
export function useNotebook(): OpenNotebook {
  const open = useContext(Context);
  if (!open) throw new Error("useNotebook: no notebook is open around this leaf");
  return open;
}
