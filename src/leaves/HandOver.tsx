/** Hand-over: the numbers to type, the table as text, the report. */
import { createSignal, For, type JSX, Show } from "solid-js";
import { writeCsv } from "../csv";
import { useNotebook } from "../notebook/open-notebook";
import type { Settings } from "../pipeline/settings";
import { changedSince } from "../pipeline/words/handed-over";
import { settingsFinding } from "../pipeline/words/settings";
import { Leaf } from "./Leaf";
import { reportNow, saveFile, slugOf } from "./take-away";

export function HandOverLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  const [copied, setCopied] = createSignal("");
  const notConfirmed = () => {
    const s = book.answers.suspectSteps();
    return s.state === "ready" ? s.value.notConfirmed : 0;
  };
  const rows = (s: Settings) => [
    ["row", `reading (${s.table[0]?.readingUnit ?? ""})`, `volume (${s.table[0]?.volumeUnit ?? ""})`],
    ...s.table.map((r, i) => [i + 1, r.reading, r.volume]),
  ];
  const copy = async (s: Settings) => {
    await navigator.clipboard
      .writeText(writeCsv(rows(s), "\t"))
      .then(() => setCopied("Copied."))
      .catch(() => setCopied("The browser refused to copy; save it as a file."));
  };
  return (
    <Leaf
      number={props.number}
      name="hand-over"
      title="hand-over"
      question="What do you type in, and how do you show the customer?"
      stage="settings"
      answer={book.answers.settings()}
      finding={(s) => settingsFinding(s, notConfirmed())}
      blocks={["settings", "notComputed"]}
      margin={(s) => (
        <>
          <button type="button" class="act screen" disabled={book.anyStale()} onClick={() => reportNow(book)}>
            Save the report
          </button>
          <p class="screen">
            One file, readable without this page. The notebook lies in it, so it can be opened here again.
          </p>
          <p class="screen">
            <button
              type="button"
              class="word"
              onClick={() => {
                const s = book.answers.settings();
                if (s.state === "ready") book.edit({ edit: "hand over", settings: s.value });
              }}
            >
              Hand these settings over
            </button>
            <br />
            They are kept as they are now, so that a later look can tell what was typed.
          </p>
          <Show when={book.notebook().issued}>
            {(i) => (
              <p>
                Handed over on {new Date(i().at).toLocaleString()}.{" "}
                {changedSince(i().settings, s().lines) ?? "The same numbers stand here."}
              </p>
            )}
          </Show>
        </>
      )}
    >
      {(s) => (
        <>
          <div class="one-a-line">
            <table class="wide-table">
              <caption>One number a line</caption>
              <thead>
                <tr>
                  <th>what</th>
                  <th class="number">type</th>
                  <th>unit</th>
                </tr>
              </thead>
              <tbody>
                <For each={s().lines}>
                  {(l) => (
                    <tr>
                      <td>{l.label}</td>
                      <td class="number">
                        <span data-path={l.path} data-value={Number(l.digits)}>
                          {l.digits}
                        </span>
                      </td>
                      <td>{l.unit}</td>
                    </tr>
                  )}
                </For>
              </tbody>
            </table>
          </div>
          <p class="figure-acts">
            <a class="screen" href="#card">
              Open as a card on your phone
            </a>
            <button type="button" class="word" onClick={() => void copy(s())}>
              Copy the table
            </button>
            <button
              type="button"
              class="word"
              onClick={() => saveFile(`${slugOf(book)}-table.csv`, "text/csv", writeCsv(rows(s())))}
            >
              Save the table
            </button>
            <span role="status">{copied()}</span>
          </p>
        </>
      )}
    </Leaf>
  );
}
