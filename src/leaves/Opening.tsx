/** The first page of an empty notebook: a new sender, or a complaint? */
import { createSignal, For, type JSX, Show } from "solid-js";
import { useNotebook } from "../notebook/open-notebook";
import { exampleNames, loadExample } from "./examples";
import { goTo } from "./go-to";

export const isEmpty = (book: ReturnType<typeof useNotebook>): boolean => {
  const n = book.notebook();
  return n.fills.length === 0 && n.drives.length === 0;
};

const title = (name: string) =>
  name.replace(/(^|-)(\w)/g, (_, dash, letter) => (dash ? " " : "") + letter.toUpperCase());

export function Opening(props: { toPourSheet: () => void }): JSX.Element {
  const book = useNotebook();
  const [failed, setFailed] = createSignal<string | null>(null);
  const [asked, setAsked] = createSignal<"new" | "complaint" | null>(null);
  const open = (name: string) =>
    void loadExample(book, name).catch((error) => setFailed(error instanceof Error ? error.message : String(error)));
  return (
    <section class="opening-page" aria-label="Where to begin">
      <p class="question">What brings you here?</p>
      <p>
        <button type="button" class="act" aria-pressed={asked() === "new"} onClick={() => setAsked("new")}>
          A new sender
        </button>
        <button type="button" class="act" aria-pressed={asked() === "complaint"} onClick={() => setAsked("complaint")}>
          A complaint
        </button>
      </p>
      <Show when={asked() === "new"}>
        <ol>
          <li>
            Nothing poured yet?{" "}
            <button type="button" class="word" onClick={() => props.toPourSheet()}>
              Print the pour sheet
            </button>
            : how many pours of what size.
          </li>
          <li>
            Say what is fitted in{" "}
            <button type="button" class="word" onClick={() => goTo("job")}>
              the job
            </button>
            ; whatever you leave blank gets a named default.
          </li>
          <li>
            Bring{" "}
            <button type="button" class="word" onClick={() => goTo("fill-run")}>
              the fill run
            </button>
            : drop a file anywhere on the page, paste a table, or type the steps.
          </li>
        </ol>
      </Show>
      <Show when={asked() === "complaint"}>
        <ol>
          <li>
            Write the table, smoothing, deadband and warning that are in the device now into{" "}
            <button type="button" class="word" onClick={() => goTo("job", "As found in the device")}>
              the job, under “as found”
            </button>
            .
          </li>
          <li>
            Bring{" "}
            <button type="button" class="word" onClick={() => goTo("drive-log")}>
              a drive log
            </button>{" "}
            on which it shows. With the settings as found no fill run is needed.
          </li>
        </ol>
      </Show>
      <p class="small">
        Or look at an invented job first:{" "}
        <For each={exampleNames}>
          {(name, i) => (
            <>
              {i() > 0 ? ", " : ""}
              <button type="button" class="word" onClick={() => open(name)}>
                {title(name)}
              </button>
            </>
          )}
        </For>
        .
      </p>
      <Show when={failed()}>
        <p class="caution" role="alert">
          {failed()}
        </p>
      </Show>
    </section>
  );
}
