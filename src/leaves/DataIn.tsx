/** Data in: choose, drop or paste a table, or type the steps; what was decided stands in one line and can be changed. */
import { createMemo, createSignal, createUniqueId, For, type JSX, Show } from "solid-js";
import { valueIn } from "../answer";
import { useNotebook } from "../notebook/open-notebook";
import { type SourceFile, typedNames } from "../pipeline/recording";
import { readAs } from "../pipeline/unlike-runs";
import { FileLine } from "./FileLine";
import { PourGrid } from "./PourGrid";

type Kind = SourceFile["kind"];
const kindNames: Record<Kind, string> = { fill: "fill run", drain: "drain run", drive: "drive log" };

/** What is in a leaf's files, and the ways to bring more. @param kinds that this leaf takes; the first is meant unless told. */
export function DataIn(props: { kinds: Kind[] }): JSX.Element {
  const book = useNotebook();
  const drives = () => props.kinds.includes("drive");
  // Any edit makes another notebook: what did not change in it must stay the same here, else opened parts close under the hand.
  const logs = createMemo(() => book.notebook().drives);
  const runs = createMemo(() => book.notebook().fills);
  const files = createMemo((): { name: string; sha256: string; kind: Kind }[] =>
    drives() ? logs().map((d) => ({ ...d, kind: "drive" as const })) : runs(),
  );
  const none = createMemo(() => files().length === 0);
  const recordingOf = (sha256: string) => {
    const answer = drives() ? book.answers.drives() : book.answers.fills();
    return answer.state === "ready" ? (answer.value.find((r) => r.sha256 === sha256) ?? null) : null;
  };
  const readOf = (name: string) => {
    const found = valueIn(book.answers.fillRun());
    const run = drives() ? null : found?.runs.find((r) => r.file === name);
    return run && found ? readAs(run, found.readingUnit) : null;
  };
  const typing: { fill?: HTMLDetailsElement; drain?: HTMLDetailsElement } = {};
  const show = (kind: "fill" | "drain") => {
    const details = typing[kind];
    if (!details) return;
    details.open = true;
    details.querySelector("summary")?.focus();
  };
  const missing = () => (drives() ? book.missingDrives() : []);
  return (
    <div class="data-in">
      <For each={files()}>
        {(file) => (
          <Show when={!isTyped(file.name)}>
            <FileLine file={file} recording={recordingOf(file.sha256)} read={readOf(file.name)} />
          </Show>
        )}
      </For>
      <For each={missing()}>
        {(name) => (
          <p class="caution" role="alert">
            {name} belongs to this notebook, but the file itself is not in this browser. Bring it again: it is known by
            its content, whatever it is called.
          </p>
        )}
      </For>
      <details open={none()}>
        <summary>
          <b>Bring {drives() ? "a drive log" : files().length > 0 ? "another run" : "a fill run"}</b> choose a file,
          drop it on the page, or paste it
        </summary>
        <div>
          <BringFile kinds={props.kinds} />
        </div>
      </details>
      <Show when={!drives()}>
        <TypeRun
          kind="fill"
          ref={(d) => {
            typing.fill = d;
          }}
          moved={() => show("drain")}
        />
        <TypeRun
          kind="drain"
          ref={(d) => {
            typing.drain = d;
          }}
          moved={() => show("fill")}
        />
      </Show>
    </div>
  );
}

const isTyped = (name: string) => name === typedNames.fill || name === typedNames.drain;

/** The grid of one kind of run, open where something stands in it. */
function TypeRun(props: {
  kind: "fill" | "drain";
  ref: (details: HTMLDetailsElement) => void;
  moved: () => void;
}): JSX.Element {
  const book = useNotebook();
  const stands = createMemo(() => book.notebook().fills.some((f) => f.name === typedNames[props.kind]));
  // A grid that was never opened is not on the page: most runs come as a file.
  const [opened, setOpened] = createSignal(false);
  return (
    <details ref={props.ref} open={stands()} onToggle={(e) => e.currentTarget.open && setOpened(true)}>
      <summary>
        <Show
          when={props.kind === "fill"}
          fallback={
            <>
              <b>Type a drain run</b> drawn from full, reading out
            </>
          }
        >
          <b>Type the steps</b> poured in, reading out
        </Show>
      </summary>
      <div>
        <Show when={opened() || stands()}>
          <PourGrid kind={props.kind} moved={props.moved} />
        </Show>
      </div>
    </details>
  );
}

function BringFile(props: { kinds: Kind[] }): JSX.Element {
  const book = useNotebook();
  const id = createUniqueId();
  let text!: HTMLTextAreaElement;
  let kindField: HTMLSelectElement | undefined;
  const kind = (): Kind => (kindField?.value as Kind | undefined) ?? props.kinds[0]!;
  const bring = async (list: FileList | null) => {
    for (const file of list ?? [])
      await book.addFile({ name: file.name, bytes: new Uint8Array(await file.arrayBuffer()) }, kind());
  };
  return (
    <>
      <Show when={props.kinds.length > 1}>
        <p class="field close">
          <label for={`${id}k`}>It is a</label>
          <select id={`${id}k`} class="write-on" ref={kindField}>
            <For each={props.kinds}>{(k) => <option value={k}>{kindNames[k]}</option>}</For>
          </select>
          <span />
        </p>
      </Show>
      <p class="choose">
        <input
          id={`${id}f`}
          class="out-of-sight"
          type="file"
          multiple
          accept=".csv,.txt,.tsv,.log,text/*"
          onChange={(e) => {
            void bring(e.currentTarget.files);
            e.currentTarget.value = "";
          }}
        />
        <label class="act" for={`${id}f`}>
          Choose a file
        </label>
      </p>
      <p class="pasted">
        <label for={`${id}t`}>Or paste a table here</label>
        <textarea id={`${id}t`} ref={text} rows={4} spellcheck={false} class="table-text" />
      </p>
      <button
        type="button"
        class="act"
        onClick={() => {
          if (text.value.trim() === "") {
            text.focus();
            return;
          }
          void book.addFile({ name: "pasted table", bytes: new TextEncoder().encode(text.value) }, kind()).then(() => {
            text.value = "";
          });
        }}
      >
        Read the table
      </button>
    </>
  );
}
