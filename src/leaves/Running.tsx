/** The running line: whether it is saved, what can be taken back, opening and saving the notebook's file. */

import { createSignal, For, type JSX, Show } from "solid-js";
import { emptyNotebook } from "../notebook/notebook";
import { useNotebook } from "../notebook/open-notebook";
import { saidIn } from "../said";
import { exampleNames, loadExample } from "./examples";
import { leaves } from "./index";
import { saveFile, slugOf } from "./take-away";

export function Running(props: { toPourSheet: () => void }): JSX.Element {
  const book = useNotebook();
  let picker!: HTMLInputElement;
  const [trouble, setTrouble] = createSignal<string | null>(null);
  const saved = () => {
    const s = book.saved();
    if (s.state === "saved")
      return `Saved on this computer at ${s.at.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" })}`;
    if (s.state === "saving") return "Saving";
    if (s.state === "failed") return `Not saved: ${s.why}. Save the notebook as a file now.`;
    return "Nothing to save yet";
  };
  const atWork = () => {
    const p = book.progress();
    const leaf = p ? leaves.find((l) => l.stage === p.stage) : null;
    return p ? `Computing ${leaf?.title ?? p.stage}, ${p.at} of ${p.of}` : "";
  };
  const open = async (file: File) => {
    const text = await file.text();
    const inside = /<script type="application\/json" id="notebook">([\s\S]*?)<\/script>/.exec(text);
    const opened = await book.openText(inside ? inside[1]! : text, `open ${file.name}`);
    const issue = opened.state === "stuck" ? opened.issue : opened.state === "ready" ? opened.cautions[0] : null;
    setTrouble(issue ? `${saidIn(issue.says, book.volume())} ${saidIn(issue.remedy ?? "", book.volume())}` : null);
  };
  return (
    <header class="running">
      <span>
        <b>Fillbook</b>
      </span>
      <span class="mid">
        <span role="status">{saved()}</span>
        <Show when={atWork()}>. {atWork()}</Show>
      </span>
      <span class="acts">
        <Show when={book.undoName()}>
          {(name) => (
            <button type="button" class="word" onClick={book.undo}>
              Undo “{name()}”
            </button>
          )}
        </Show>
        <Show when={book.redoName()}>
          {(name) => (
            <button type="button" class="word" onClick={book.redo}>
              Redo “{name()}”
            </button>
          )}
        </Show>
        <button type="button" class="word" onClick={() => picker.click()}>
          Open a notebook
        </button>
        <input
          ref={picker}
          type="file"
          hidden
          accept=".json,.html,application/json,text/html"
          onChange={(e) => {
            const file = e.currentTarget.files?.[0];
            if (file) void open(file);
            e.currentTarget.value = "";
          }}
        />
        <button
          type="button"
          class="word"
          onClick={() => saveFile(`${slugOf(book)}.json`, "application/json", book.saveText())}
        >
          Save the notebook
        </button>
        <button
          type="button"
          class="word"
          onClick={() => void book.replace(emptyNotebook, "begin a new notebook").then(() => setTrouble(null))}
        >
          New notebook
        </button>
        <button type="button" class="word" onClick={() => props.toPourSheet()}>
          Pour sheet
        </button>
        <button type="button" class="word" onClick={() => window.print()}>
          Print
        </button>
        <label>
          <span class="out-of-sight">Open an example</span>
          <select
            class="write-on"
            onChange={(e) => {
              const name = e.currentTarget.value;
              e.currentTarget.value = "";
              if (name) void loadExample(book, name).catch((error) => setTrouble(String(error)));
            }}
          >
            <option value="">An example</option>
            <For each={exampleNames}>{(n) => <option value={n}>{n.replaceAll("-", " ")}</option>}</For>
          </select>
        </label>
      </span>
      <Show when={book.overtaken()}>
        <p role="alert">
          Another window has saved its notebook in the place of this one, and that is what opens next time. A change
          here saves this one again in the place of the other: go on in one window only, and save one of them as a file
          if you need both.
        </p>
      </Show>
      <Show when={trouble() ?? book.failure()}>{(t) => <p role="alert">{t()}</p>}</Show>
      <Show when={book.missingDrives().length > 0}>
        <p role="alert">
          This computer does not hold {book.missingDrives().join(", ")}: bring the same file again in leaf 6.
        </p>
      </Show>
    </header>
  );
}
