/** Notes that stand between leaves: a leaf of their own, without a number. */
import { For, type JSX } from "solid-js";
import { useNotebook } from "../notebook/open-notebook";

/** The notes after one leaf, and the way to add one. */
export function LooseNotes(props: { after: string; title: string }): JSX.Element {
  const book = useNotebook();
  const ids = () =>
    book
      .notebook()
      .looseNotes.filter((n) => n.after === props.after)
      .map((n) => n.id);
  const note = (id: string) => book.notebook().looseNotes.find((n) => n.id === id);
  const write = (id: string, text: string | null) => book.edit({ edit: "loose note", id, after: props.after, text });
  let place!: HTMLDivElement;
  return (
    <div class="loose-notes" ref={place}>
      <For each={ids()}>
        {(id) => (
          <div class="note" classList={{ empty: !note(id)?.text }}>
            <label>
              <span class="out-of-sight">A note after {props.title}</span>
              <textarea
                rows={3}
                placeholder="Your note"
                value={note(id)?.text ?? ""}
                onChange={(e) => write(id, e.currentTarget.value)}
              />
            </label>
            <button type="button" class="word small" onClick={() => write(id, null)}>
              Take the note out
            </button>
          </div>
        )}
      </For>
      <p class="small screen">
        <button
          type="button"
          class="word"
          onClick={() => {
            write(crypto.randomUUID(), "");
            queueMicrotask(() => place.querySelector<HTMLElement>(".note:last-of-type textarea")?.focus());
          }}
        >
          Write a note between leaves<span class="out-of-sight">, after {props.title}</span>
        </button>
      </p>
    </div>
  );
}
