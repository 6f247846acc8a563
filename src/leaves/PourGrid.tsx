/** The steps typed by hand, at the tank too: each row is judged against those before it as it is typed, and saved at once. */
import { createMemo, For, type JSX, Match, Show, Switch, untrack } from "solid-js";
import { useNotebook } from "../notebook/open-notebook";
import type { Sheet } from "../notebook/typed-sheet";
import { waitWords } from "../pipeline/pour-words";
import { NumberField } from "../ui/fields";
import { createAwake } from "../ui/stay-awake";
import { PourRemarks } from "./PourRemarks";
import { PourUnits } from "./PourUnits";
import { createPourJudgements } from "./pour-judgements";
import { cannotBe, gridWords, rowsToJudge, typedNumber, unitWords } from "./typed-cells";
import { createTypedRun } from "./typed-run";

/** @param kind poured in, or drawn out from full. @param moved called when the rows have gone to the grid of the other kind. */
export function PourGrid(props: { kind: Sheet["kind"]; moved: () => void }): JSX.Element {
  const book = useNotebook();
  // A grid is of one kind as long as it stands.
  const kind = untrack(() => props.kind);
  const words = gridWords[kind];
  const { sheet, rows, put, measureIn, write, paste, move, otherIsFree } = createTypedRun(book, kind);
  const job = () => {
    const j = book.answers.job();
    return j.state === "ready" ? j.value : null;
  };
  const waitSaid = () => {
    const stated = job();
    return stated && waitWords(stated);
  };
  const stateFill = (field: "deviceTimeConstant_s" | "wait_s", value: number | null, label: string) =>
    book.edit({ edit: "job", path: ["fill", field], value, label });
  const typedRows = createMemo(() => {
    const j = job();
    return j && rowsToJudge(sheet(), j);
  });
  const judged = createPourJudgements(typedRows, kind);
  let body!: HTMLTableSectionElement;
  const focus = (row: number, column: number) =>
    body.querySelector<HTMLInputElement>(`input[data-cell="${row}.${column}"]`)?.focus();
  const keys = (e: KeyboardEvent & { currentTarget: HTMLInputElement }, row: number, column: number) => {
    const go = (r: number, c: number) => {
      e.preventDefault();
      write(row, column === 0 ? "poured" : "reading", e.currentTarget.value.trim());
      queueMicrotask(() => focus(r, c));
    };
    if (e.key === "Enter") column === 0 ? go(row, 1) : go(row + 1, 0);
    else if (e.key === "ArrowDown") go(row + 1, column);
    else if (e.key === "ArrowUp" && row > 0) go(row - 1, column);
  };
  // The phone lies beside the tank: its screen stays on. What stands in a field when it is put away is kept with the place on the page.
  const { awake, work, rest } = createAwake();
  const saved = () => {
    const s = book.saved();
    if (s.state === "failed") return `Not saved: ${s.why}. Save the notebook as a file now.`;
    if (sheet().rows.length === 0) return "Each row is saved as you write it.";
    return s.state === "saved" ? "All rows are saved on this device." : "Saving this row.";
  };
  return (
    <div class="pour-grid" onFocusIn={work} onInput={work}>
      <PourUnits sheet={sheet()} words={words} put={put} measureIn={measureIn} />
      <table class="type-in steps" aria-label={words.table}>
        <thead>
          <tr>
            <th>Step</th>
            <th class="number">
              {sheet().enteredAs === "added" ? words.amount : words.soFar}, {unitWords(sheet()).volume}
            </th>
            <th class="number">Reading, {unitWords(sheet()).reading}</th>
            <th>How it fits</th>
          </tr>
        </thead>
        <tbody ref={body}>
          <For each={Array.from({ length: rows().length }, (_, i) => i)}>
            {(i) => (
              <tr>
                <th scope="row">{i === 0 ? words.first : i}</th>
                <For each={["poured", "reading"] as const}>
                  {(field, column) => (
                    <td class="number">
                      <input
                        class="write-on big"
                        inputmode="decimal"
                        enterkeyhint="next"
                        autocomplete="off"
                        data-cell={`${i}.${column()}`}
                        aria-label={`${field === "poured" ? words.amount : "Reading"}, ${words.step(i)}`}
                        aria-invalid={
                          typedNumber(
                            rows()[i]?.[field] ?? "",
                            field === "poured" ? sheet().volumeUnit : sheet().readingUnit,
                          ) === undefined
                        }
                        value={rows()[i]?.[field] ?? ""}
                        placeholder={i === 0 && field === "poured" ? "0" : ""}
                        onKeyDown={(e) => keys(e, i, column())}
                        onPaste={(e) => {
                          if (paste(e.clipboardData?.getData("text") ?? "", i)) e.preventDefault();
                        }}
                        onChange={(e) => write(i, field, e.currentTarget.value.trim())}
                      />
                    </td>
                  )}
                </For>
                <td class="small fits" aria-live="polite">
                  <PourRemarks cannotBe={cannotBe(sheet(), i)} judged={judged()[i]} />
                </td>
              </tr>
            )}
          </For>
        </tbody>
      </table>
      <p class="small saved-rows">
        {saved()}{" "}
        <Switch>
          <Match when={awake() === "on"}>
            {words.screen}{" "}
            <button type="button" class="word" onClick={rest}>
              Let it go dark
            </button>
          </Match>
          <Match when={awake() === "refused"}>
            The browser would not keep the screen on (a low battery does that): touch it now and then.
          </Match>
          <Match when={awake() === "cannot"}>This browser cannot keep the screen on: {words.lock}</Match>
        </Switch>
      </p>
      <Show when={kind === "fill"}>
        <details class="job-group">
          <summary>
            <b>Does the reading come through a device that smooths?</b> then it must have settled
          </summary>
          <div>
            <NumberField
              label="It smooths over"
              unit="s"
              value={book.notebook().job.fill?.deviceTimeConstant_s ?? null}
              onChange={(value) => stateFill("deviceTimeConstant_s", value, "how the device smooths")}
            />
            <NumberField
              label="I wait before each reading"
              unit="s"
              value={book.notebook().job.fill?.wait_s ?? null}
              onChange={(value) => stateFill("wait_s", value, "the wait before a reading")}
            />
            <p class="small" aria-live="polite">
              {waitSaid()}
            </p>
          </div>
        </details>
      </Show>
      <p class="small">Enter goes on, arrows move; a comma or a point both do. {words.firstRow}</p>
      <Show when={sheet().rows.length > 0 && otherIsFree()}>
        <p class="small">
          <button type="button" class="word" onClick={() => void move().then((moved) => moved && props.moved())}>
            {words.other}
          </button>
        </p>
      </Show>
    </div>
  );
}
