/** The steps typed by hand, at the tank too: each row is judged against those before it as it is typed, and saved at once. */
import {
  createEffect,
  createMemo,
  createSignal,
  For,
  type JSX,
  Match,
  onCleanup,
  Show,
  Switch,
  untrack,
} from "solid-js";
import { useNotebook } from "../notebook/open-notebook";
import { emptySheet, readSheet, type Sheet, writeSheet } from "../notebook/typed-sheet";
import type { PourRow } from "../pipeline/pour-watch";
import { typedNames } from "../pipeline/recording";
import { NumberField, SelectField } from "../ui/fields";
import { createAwake } from "../ui/stay-awake";
import { litresPer, type VolumeUnit } from "../units";
import { createPourJudgements } from "./pour-judgements";
import { gridWords, typedNumber } from "./typed-cells";

/** @param kind poured in, or drawn out from full. @param moved called when the rows have gone to the grid of the other kind. */
export function PourGrid(props: { kind: Sheet["kind"]; moved: () => void }): JSX.Element {
  const book = useNotebook();
  // A grid is of one kind as long as it stands.
  const kind = untrack(() => props.kind);
  const otherKind = kind === "fill" ? "drain" : "fill";
  const words = gridWords[kind];
  const [sheet, setSheet] = createSignal<Sheet>(emptySheet(kind));
  const typed = () => book.notebook().fills.find((f) => f.name === typedNames[kind]);
  const otherIsFree = () => !book.notebook().fills.some((f) => f.name === typedNames[otherKind]);
  let mine: string | null = null;
  let pending = 0;
  // Undo, reload and another notebook change the sheet from outside; what was typed here comes back as it was written.
  createEffect(() => {
    const file = typed();
    // While a row is being written, what stands in the fields is newer than what the notebook holds.
    if (pending > 0 || ((file?.sha256 ?? null) === mine && mine !== null)) return;
    mine = file?.sha256 ?? null;
    // The sheet is not followed here, only replaced: following it would wipe the first cell that is typed.
    const now = untrack(sheet);
    setSheet(file ? readSheet(new TextDecoder().decode(file.bytes)) : now.rows.length ? emptySheet(kind) : now);
  });
  const rows = (): Sheet["rows"] => [...sheet().rows, { poured: "", reading: "" }];
  let writing: Promise<void> = Promise.resolve();
  const put = (next: Sheet, label: string) => {
    pending += 1;
    setSheet(next);
    // One write after the other, so that each replaces the sheet before it.
    writing = writing
      .then(async () => {
        const before = typed()?.sha256 ?? null;
        if (next.rows.length > 0) mine = await book.typeSteps(kind, writeSheet(next), before, label);
        else if (before) book.edit({ edit: "remove file", sha256: before });
      })
      .finally(() => {
        pending -= 1;
      });
  };
  const write = (at: number, field: "poured" | "reading", text: string) => {
    if ((rows()[at]?.[field] ?? "") === text) return;
    const all = rows().map((r, i) => (i === at ? { ...r, [field]: text } : r));
    while (all.length > 0 && all[all.length - 1]!.poured === "" && all[all.length - 1]!.reading === "") all.pop();
    put({ ...sheet(), rows: all }, words.write(at));
  };
  /** The rows go to the other grid, as they are. */
  const move = async () => {
    await writing;
    const before = typed()?.sha256;
    if (!before) return;
    const label = kind === "fill" ? "make it a drain run" : "make it a fill run";
    await book.typeSteps(otherKind, writeSheet({ ...sheet(), kind: otherKind }), before, label);
    props.moved();
  };
  const job = () => {
    const j = book.answers.job();
    return j.state === "ready" ? j.value : null;
  };
  const stateFill = (field: "deviceTimeConstant_s" | "wait_s", value: number | null, label: string) =>
    book.edit({ edit: "job", path: ["fill", field], value, label });
  const amountIn = (text: string) => typedNumber(text, sheet().volumeUnit);
  const readingIn = (text: string) => typedNumber(text, sheet().readingUnit);
  const typedRows = createMemo(() => {
    const j = job();
    if (!j) return null;
    const litres =
      litresPer(sheet().volumeUnit as VolumeUnit, {
        density_kg_per_L: j.pour.density_kg_per_L,
        capacity_L: j.tank.capacity_L,
      }) ?? 1;
    let total = 0;
    let decimals = 0;
    const list = sheet().rows.map((r): PourRow => {
      const poured = amountIn(r.poured) ?? Number.NaN;
      const added = sheet().enteredAs === "added" ? poured : poured - total;
      if (Number.isFinite(poured)) total = sheet().enteredAs === "added" ? total + poured : poured;
      decimals = Math.max(decimals, /[.,](\d+)/.exec(r.reading)?.[1]?.length ?? 0);
      return { added_L: added * litres, reading: readingIn(r.reading) ?? Number.NaN };
    });
    return { rows: list, job: { ...j, readingUnit: sheet().readingUnit }, readingStep: 10 ** -decimals };
  });
  const judged = createPourJudgements(typedRows, kind);
  /** What stands in a row and cannot be: no number, or a pour of less than nothing. */
  const cannotBe = (at: number): string[] => {
    const { poured = "", reading = "" } = rows()[at] ?? {};
    const amount = amountIn(poured);
    const wrong = [
      ...(amount === undefined ? [poured] : []),
      ...(readingIn(reading) === undefined ? [reading] : []),
    ].map((t) => `“${t}” is no number in the unit of its column.`);
    if (sheet().enteredAs === "added" && typeof amount === "number" && amount < 0)
      wrong.push(`“${poured}” ${words.lessThanNothing}`);
    return wrong;
  };
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
  // The phone lies beside the tank: its screen stays on, and what stands in a field is kept when it is put away or locked.
  const { awake, work, rest } = createAwake();
  const keep = () => {
    if (document.visibilityState !== "hidden") return;
    const field = document.activeElement;
    const cell = field instanceof HTMLInputElement && body.contains(field) ? field.dataset.cell : undefined;
    if (cell && field instanceof HTMLInputElement) {
      const [row, column] = cell.split(".").map(Number) as [number, number];
      write(row, column === 0 ? "poured" : "reading", field.value.trim());
    }
    void writing.then(() => book.saveNow());
  };
  document.addEventListener("visibilitychange", keep);
  onCleanup(() => document.removeEventListener("visibilitychange", keep));
  const saved = () => {
    const s = book.saved();
    if (s.state === "failed") return `Not saved: ${s.why}. Save the notebook as a file now.`;
    if (sheet().rows.length === 0) return "Each row is saved as you write it.";
    return s.state === "saved" ? "All rows are saved on this device." : "Saving this row.";
  };
  const pastePart = (e: ClipboardEvent, at: number) => {
    const lines = (e.clipboardData?.getData("text") ?? "").trim().split(/\r\n|\n|\r/);
    if (lines.length < 2 && !/[\t;]/.test(lines[0] ?? "")) return;
    e.preventDefault();
    const cells = lines.map((l) => l.split(l.includes("\t") ? "\t" : l.includes(";") ? ";" : /\s+|,(?=\s)/));
    const filled = [...sheet().rows];
    while (filled.length < at) filled.push({ poured: "", reading: "" });
    filled.splice(
      at,
      cells.length,
      ...cells.map((c) => ({ poured: (c[0] ?? "").trim(), reading: (c[1] ?? "").trim() })),
    );
    put({ ...sheet(), rows: filled }, `paste ${cells.length} rows`);
  };
  return (
    <div class="pour-grid" onFocusIn={work} onInput={work}>
      <div class="columns">
        <SelectField
          label="Volumes are"
          value={sheet().enteredAs}
          options={[
            { value: "added", label: words.volumesAre.added },
            { value: "cumulative", label: words.volumesAre.cumulative },
          ]}
          onChange={(enteredAs) => put({ ...sheet(), enteredAs }, "read the volumes the other way")}
        />
        <SelectField
          label="in"
          value={sheet().volumeUnit}
          options={[
            { value: "L", label: "litres" },
            { value: "USgal", label: "US gallons" },
            { value: "impgal", label: "imperial gallons" },
            { value: "kg", label: "kilograms" },
          ]}
          onChange={(volumeUnit) => put({ ...sheet(), volumeUnit }, "change the unit of the volumes")}
        />
        <SelectField
          label="Readings are in"
          value={sheet().readingUnit}
          options={[
            { value: "V", label: "volts" },
            { value: "ohm", label: "ohms" },
            { value: "count", label: "counts" },
          ]}
          onChange={(readingUnit) => put({ ...sheet(), readingUnit }, "change the unit of the readings")}
        />
      </div>
      <table class="type-in steps">
        <thead>
          <tr>
            <th>Step</th>
            <th class="n">{sheet().enteredAs === "added" ? words.amount : words.soFar}</th>
            <th class="n">Reading</th>
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
                    <td class="n">
                      <input
                        class="in big"
                        inputmode="decimal"
                        enterkeyhint="next"
                        autocomplete="off"
                        data-cell={`${i}.${column()}`}
                        aria-label={`${field === "poured" ? words.amount : "Reading"}, ${words.step(i)}`}
                        aria-invalid={
                          (field === "poured" ? amountIn : readingIn)(rows()[i]?.[field] ?? "") === undefined
                        }
                        value={rows()[i]?.[field] ?? ""}
                        placeholder={i === 0 && field === "poured" ? "0" : ""}
                        onKeyDown={(e) => keys(e, i, column())}
                        onPaste={(e) => pastePart(e, i)}
                        onChange={(e) => write(i, field, e.currentTarget.value.trim())}
                      />
                    </td>
                  )}
                </For>
                <td class="small fits" aria-live="polite">
                  <Show
                    when={cannotBe(i).length === 0 && judged()[i]}
                    fallback={
                      <For each={cannotBe(i)}>
                        {(text) => (
                          <span class="check">
                            <b>Check: </b>
                            {text}{" "}
                          </span>
                        )}
                      </For>
                    }
                  >
                    {(j) => (
                      <For each={j().remarks}>
                        {(r) => (
                          <span class={r.weight === "check" ? "check" : ""}>
                            {r.weight === "check" ? <b>Check: </b> : ""}
                            {r.says}{" "}
                          </span>
                        )}
                      </For>
                    )}
                  </Show>
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
          </div>
        </details>
      </Show>
      <p class="small">Enter goes on, arrows move; a comma or a point both do. {words.firstRow}</p>
      <Show when={sheet().rows.length > 0 && otherIsFree()}>
        <p class="small">
          <button type="button" class="word" onClick={() => void move()}>
            {words.other}
          </button>
        </p>
      </Show>
    </div>
  );
}
