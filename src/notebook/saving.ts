/** Saving: the open notebook into the browser's own store, a moment after each change, and what is not there yet before the page may go. */
import { createSignal } from "solid-js";
import { type SavedState, saveState } from "./store";
import { forgetUnsaved, keepUnsaved } from "./unsaved";

export type SaveState =
  | { state: "saved"; at: Date }
  | { state: "saving" }
  | { state: "failed"; why: string }
  | { state: "new" };

/** So long after a change it is saved: typing is saved in steps, not in letters. */
const pause_ms = 250;

/** @param open the notebook and its history as they stand. @param tell is called after each save: another window of the page may want to know. */
export function createSaving(open: () => Omit<SavedState, "at">, tell: () => void) {
  const [saved, setSaved] = createSignal<SaveState>({ state: "new" });
  const [overtaken, setOvertaken] = createSignal(false);
  let timer: ReturnType<typeof setTimeout> | undefined;
  const failed = (error: unknown): void =>
    void setSaved({ state: "failed", why: error instanceof Error ? error.message : String(error) });

  function save(): void {
    setSaved({ state: "saving" });
    clearTimeout(timer);
    timer = setTimeout(() => void saveNow(), pause_ms);
  }

  /** Saves without waiting for the next change. */
  async function saveNow(): Promise<void> {
    clearTimeout(timer);
    if (saved().state !== "saving") return;
    const saving = open();
    try {
      await saveState({ ...saving, at: Date.now() });
      setOvertaken(false);
      tell();
      // A change that came meanwhile has its own turn.
      if (open().notebook !== saving.notebook) return;
      setSaved({ state: "saved", at: new Date() });
      forgetUnsaved();
    } catch (error) {
      failed(error);
    }
  }

  /** Before the page may be put away: what is not saved is laid by at once, and saved if there is time for it. */
  function leave(): void {
    const { notebook, past } = open();
    if (saved().state === "saving" || saved().state === "failed") keepUnsaved(past.at(-1)?.name ?? "", notebook);
    void saveNow();
  }

  const asSaved = () => void setSaved({ state: "saved", at: new Date() });
  /** Another window has put its notebook in the place of this one. */
  const otherSaved = () => void setOvertaken(true);
  return { saved, overtaken, save, saveNow, leave, failed, asSaved, otherSaved };
}
