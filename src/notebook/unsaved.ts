/**
 * Unsaved: the last changes that the database had no time for. A page that is put away ends what it had begun, and the database takes
 * several turns to write; the browser's small store writes at once, so what would be lost lies there until the database has it.
 */
import { openChecked } from "./checked";
import { writeNotebook } from "./file";
import type { Notebook } from "./notebook";

const key = "fillbook-unsaved";

export interface Unsaved {
  /** Milliseconds since 1970 at which the page was left: a save of later than that has all of it. */
  at: number;
  /** The last change's name, for its undo. */
  name: string;
  notebook: Notebook;
}

/** Lays a notebook by, at once. A notebook over the small store's size, and a browser that refuses it, leave the database's own save alone. */
export function keepUnsaved(name: string, notebook: Notebook): void {
  try {
    localStorage.setItem(key, JSON.stringify({ at: Date.now(), name, text: writeNotebook(notebook) }));
  } catch {
    forgetUnsaved();
  }
}

export function forgetUnsaved(): void {
  try {
    localStorage.removeItem(key);
  } catch {
    // A store that is refused holds nothing.
  }
}

/** What was laid by, if the database has not got it: younger than what was saved last, and not the same. */
export async function unsavedSince(saved: { at: number; notebook: Notebook } | null): Promise<Unsaved | null> {
  try {
    const kept = localStorage.getItem(key);
    if (!kept) return null;
    const { at, name, text } = JSON.parse(kept) as { at: number; name: string; text: string };
    if (saved && (at <= saved.at || text === writeNotebook(saved.notebook))) return null;
    const opened = await openChecked(text);
    return opened.state === "ready" ? { at, name, notebook: opened.value } : null;
  } catch {
    return null;
  }
}
