/** Store: the browser's own database. The notebook and its undo history at every change, files once under their hash. */
import { createStore, get, keys, set } from "idb-keyval";
import type { FileReading } from "../pipeline/choices";
import type { SourceFile } from "../pipeline/recording";
import type { Notebook } from "./notebook";

const documents = () => createStore("fillbook", "documents");
const files = () => createStore("fillbook-files", "bytes");

/** Notebooks without the bytes of their files: those lie under their hashes. */
interface Bare extends Omit<Notebook, "fills"> {
  fills: Omit<SourceFile, "bytes">[];
}
export interface SavedState {
  /** Milliseconds since 1970 at which the save began. */
  at: number;
  notebook: Notebook;
  past: { name: string; notebook: Notebook }[];
  future: { name: string; notebook: Notebook }[];
}

/** How many steps of undo are kept over a reload. */
const keptSteps = 60;

const bare = (n: Notebook): Bare => ({ ...n, fills: n.fills.map(({ bytes: _bytes, ...f }) => f) });

const written = new Set<string>();

/** Writes bytes once under their hash. */
export async function keepFile(sha256: string, bytes: Uint8Array): Promise<void> {
  if (written.has(sha256)) return;
  await set(sha256, new Blob([bytes as BlobPart]), files());
  written.add(sha256);
}

export async function fileBytes(sha256: string): Promise<Uint8Array | null> {
  const blob = await get<Blob>(sha256, files());
  return blob ? new Uint8Array(await blob.arrayBuffer()) : null;
}

/** Saves notebook and history. @throws what the database throws (full, refused): the page must say it loudly. */
export async function saveState(state: SavedState): Promise<void> {
  for (const n of [state.notebook, ...state.past.slice(-keptSteps).map((p) => p.notebook)])
    for (const f of n.fills) await keepFile(f.sha256, f.bytes);
  const steps = (list: SavedState["past"]) =>
    list.slice(-keptSteps).map((p) => ({ name: p.name, notebook: bare(p.notebook) }));
  await set(
    "open",
    { at: state.at, notebook: bare(state.notebook), past: steps(state.past), future: steps(state.future) },
    documents(),
  );
}

/** What was open last, or null. A file whose bytes are gone is left out. */
export async function loadState(): Promise<SavedState | null> {
  const saved = await get<{
    at?: number;
    notebook: Bare;
    past: { name: string; notebook: Bare }[];
    future: { name: string; notebook: Bare }[];
  }>("open", documents());
  if (!saved) return null;
  const cache = new Map<string, SourceFile>();
  const whole = async (n: Bare): Promise<Notebook> => {
    const fills: SourceFile[] = [];
    for (const f of n.fills) {
      let file = cache.get(f.sha256);
      if (!file) {
        const bytes = await fileBytes(f.sha256);
        if (!bytes) continue;
        file = { ...f, bytes };
        cache.set(f.sha256, file);
      }
      fills.push(file);
    }
    return { ...n, fills };
  };
  const steps = async (list: { name: string; notebook: Bare }[]) =>
    Promise.all(list.map(async (p) => ({ name: p.name, notebook: await whole(p.notebook) })));
  return {
    at: saved.at ?? 0,
    notebook: await whole(saved.notebook),
    past: await steps(saved.past),
    future: await steps(saved.future),
  };
}

/** How a file with these headers was read by hand the last time; null if it never was, or the store is refused. */
export async function recallReading(headers: string): Promise<FileReading | null> {
  return (await get<FileReading>(`reading ${headers}`, documents()).catch(() => null)) ?? null;
}

/** Keeps a reading by hand for the next file with the same set of headers. */
export async function rememberReading(headers: string, reading: FileReading): Promise<void> {
  await set(`reading ${headers}`, reading, documents()).catch(() => undefined);
}

/** Names of the stored files: for a tidy-up. */
export const storedFiles = async (): Promise<string[]> => (await keys(files())).map(String);

/** Asks the browser not to throw the store away. */
export async function askToKeep(): Promise<boolean> {
  return (await navigator.storage?.persist?.()) ?? false;
}
