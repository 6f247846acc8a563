/** The table found in the device, copied as text: a row a line. What cannot be read is named and nothing is taken. */
import { createEffect, createSignal, createUniqueId, type JSX, Show } from "solid-js";
import { useNotebook } from "../notebook/open-notebook";
import { foundAsCopied, foundUnits } from "../pipeline/found-table";
import { readRows } from "./found-rows";

export function FoundTable(props: { label: string }): JSX.Element {
  const book = useNotebook();
  const id = createUniqueId();
  const [wrong, setWrong] = createSignal<string | null>(null);
  const stated = () => foundAsCopied(book.notebook().job);
  const units = () => foundUnits(book.notebook().job);
  const written = () =>
    stated()
      .map((r) => `${r.reading}  ${r.volume}`)
      .join("\n");
  const [text, setText] = createSignal(written());
  // Undo and another notebook change the rows from outside; what is half written here stays while it cannot be read.
  createEffect(() => {
    const now = written();
    setText(now);
    setWrong(null);
  });
  return (
    <div class="found-table">
      <label for={id}>
        {props.label}
        {units().reading ? `reading in ${units().reading}` : "reading"}, then {units().volume}
      </label>
      <textarea
        id={id}
        class="table-text"
        rows={Math.max(3, text().split("\n").length)}
        spellcheck={false}
        placeholder={"0.56  0\n1.97  13.8"}
        aria-invalid={wrong() !== null}
        value={text()}
        onChange={(e) => {
          const read = readRows(e.currentTarget.value);
          setText(e.currentTarget.value);
          setWrong("wrong" in read ? read.wrong : null);
          if ("rows" in read && JSON.stringify(read.rows) !== JSON.stringify(stated()))
            book.edit({
              edit: "job",
              path: ["asFound", "table"],
              value: read.rows.length > 0 ? read.rows : null,
              label: "the table found in the device",
            });
        }}
      />
      <Show when={wrong()}>
        {(line) => (
          <p class="caution small" role="alert">
            “{line()}” is not a reading and its volume. The table is taken when every line is.
          </p>
        )}
      </Show>
    </div>
  );
}
