/** Dropping and pasting anywhere on the page: a notebook is opened, anything else is asked about. */

import { createSignal, type JSX, onCleanup, onMount, Show } from "solid-js";
import type { Issue } from "../answer";
import { useNotebook } from "../notebook/open-notebook";
import type { SourceFile } from "../pipeline/recording";
import { saidIn } from "../said";

/** A drive log has time and no pours, and is long; a fill run is what somebody poured. Only a first guess: the user says. */
function guessKind(bytes: Uint8Array): SourceFile["kind"] {
  const head = new TextDecoder().decode(bytes.subarray(0, 2000)).toLowerCase();
  const pours = /pour|added|litre|liter|gallon|volume|total/.test(head);
  return !pours && (bytes.length > 100_000 || /speed|acc|across|along|lat_|long_/.test(head)) ? "drive" : "fill";
}

/** Takes what is dropped or pasted anywhere and asks what it is. */
export function BringAnywhere(): JSX.Element {
  const book = useNotebook();
  const [issue, setIssue] = createSignal<Issue | null>(null);
  const read = async (text: string, name: string) => {
    const opened = await book.openText(text, `open ${name}`);
    setIssue(opened.state === "stuck" ? opened.issue : opened.state === "ready" ? (opened.cautions[0] ?? null) : null);
  };
  const [waiting, setWaiting] = createSignal<{ name: string; bytes: Uint8Array }[]>([]);
  let dialog!: HTMLDialogElement;
  const first = () => waiting()[0];
  const bring = async (files: { name: string; bytes: Uint8Array }[]) => {
    for (const file of files) {
      const text = file.name.endsWith(".json") ? new TextDecoder().decode(file.bytes) : null;
      if (text !== null) await read(text, file.name);
      else setWaiting([...waiting(), file]);
    }
    if (first() && !dialog.open) {
      dialog.showModal();
      dialog.querySelector<HTMLElement>(`[data-kind="${guessKind(first()!.bytes)}"]`)?.focus();
    }
  };
  const next = async (kind: SourceFile["kind"] | null) => {
    const file = first();
    if (file && kind) await book.addFile(file, kind);
    setWaiting(waiting().slice(1));
    if (!first()) dialog.close();
    else dialog.querySelector<HTMLElement>(`[data-kind="${guessKind(first()!.bytes)}"]`)?.focus();
  };
  onMount(() => {
    const over = (e: DragEvent) => {
      if (!e.dataTransfer?.types.includes("Files")) return;
      e.preventDefault();
      document.documentElement.classList.add("drop-ready");
    };
    const leave = () => document.documentElement.classList.remove("drop-ready");
    const drop = async (e: DragEvent) => {
      leave();
      const files = [...(e.dataTransfer?.files ?? [])];
      if (files.length === 0) return;
      e.preventDefault();
      await bring(
        await Promise.all(files.map(async (f) => ({ name: f.name, bytes: new Uint8Array(await f.arrayBuffer()) }))),
      );
    };
    const paste = (e: ClipboardEvent) => {
      const into = e.target as HTMLElement | null;
      if (into?.closest("input, textarea, [contenteditable]")) return;
      const text = e.clipboardData?.getData("text") ?? "";
      if (text.trim().split("\n").length < 2) return;
      e.preventDefault();
      void bring([{ name: "pasted table", bytes: new TextEncoder().encode(text) }]);
    };
    addEventListener("dragover", over);
    addEventListener("dragleave", leave);
    addEventListener("drop", drop);
    addEventListener("paste", paste);
    onCleanup(() => {
      removeEventListener("dragover", over);
      removeEventListener("dragleave", leave);
      removeEventListener("drop", drop);
      removeEventListener("paste", paste);
    });
  });
  return (
    <>
      <Show when={issue()}>
        {(i) => (
          <p class="caution" role="alert">
            {saidIn(i().says, book.volume())} {saidIn(i().remedy ?? "", book.volume())}
          </p>
        )}
      </Show>
      <dialog ref={dialog} aria-label="What is this file?" onClose={() => setWaiting([])}>
        <p>
          What is <b>{first()?.name ?? ""}</b>?
        </p>
        <p>
          <button type="button" class="act" data-kind="fill" onClick={() => void next("fill")}>
            A fill run
          </button>
          <button type="button" class="act" data-kind="drain" onClick={() => void next("drain")}>
            A drain run
          </button>
          <button type="button" class="act" data-kind="drive" onClick={() => void next("drive")}>
            A drive log
          </button>
        </p>
        <button type="button" class="word" onClick={() => void next(null)}>
          Leave it out
        </button>
      </dialog>
    </>
  );
}
