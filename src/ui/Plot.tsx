/** A figure: drawn at once as SVG, made interactive on request when the plotter has arrived, with its data as a table. */
import {
  createEffect,
  createMemo,
  createSignal,
  createUniqueId,
  For,
  type JSX,
  onCleanup,
  onMount,
  Show,
} from "solid-js";
import { writeCsv } from "../csv";
import type { Figure } from "../figure/figure";
import { drawFramed } from "../figure/framed";
import { keyShape } from "../figure/shapes";
import { drawFigure } from "../figure/svg";
import { decimalsFor, fixed, tied } from "../format";
import { useNotebook } from "../notebook/open-notebook";
import { figureInUnit } from "../pipeline/figures/in-unit";

/** Width that a drawing is made for on paper: scaled by a fifth into the printed column, so that its words stand at 8 points. */
const paperWidth = 510;
/** The same for one of two drawings that stand beside each other on paper, over main column and margin. */
const besideWidth = 354;

/** Rows of a figure's table that stand on the page: more would keep it from answering. */
const mostRows = 200;

/** @param props.beside stands beside another drawing on paper. @param props.onPick is told the number of the place that was pressed; `pickHint` says what that does. */
export function Plot(props: {
  figure: Figure;
  beside?: boolean;
  onPick?: (at: number) => void;
  pickHint?: string;
}): JSX.Element {
  let place!: HTMLDivElement;
  let closer: HTMLDivElement | undefined;
  const book = useNotebook();
  /** Drawn in the unit that the job writes volumes in. */
  const figure = createMemo(() => figureInUnit(props.figure, book.volume()));
  const [width, setWidth] = createSignal(640);
  const [printing, setPrinting] = createSignal(false);
  const [near, setNear] = createSignal(false);
  /** The table is made when it is opened first: fifteen of them made anew at each change would keep the page from answering. */
  const [opened, setOpened] = createSignal(false);
  const [failed, setFailed] = createSignal<string | null>(null);
  const id = createUniqueId();
  onMount(() => {
    const watch = new ResizeObserver(([entry]) => {
      const w = Math.round(entry?.contentRect.width ?? 640);
      if (w > 0 && Math.abs(w - width()) > 4) setWidth(w);
    });
    watch.observe(place);
    const begin = () => setPrinting(true);
    const end = () => setPrinting(false);
    addEventListener("beforeprint", begin);
    addEventListener("afterprint", end);
    onCleanup(() => {
      watch.disconnect();
      removeEventListener("beforeprint", begin);
      removeEventListener("afterprint", end);
    });
  });
  createEffect(() => {
    const shown = figure();
    if (!near() || !closer) return;
    const target = closer;
    import("../figure/interactive")
      .then(({ showInteractive }) => showInteractive(target, shown))
      .catch((error) => setFailed(error instanceof Error ? error.message : String(error)));
  });
  /** One number of decimals a column: five figures of its largest value. Whole numbers stay whole. */
  const decimals = createMemo(() =>
    figure().table.columns.map((_, k) => {
      const values = figure().table.rows.flatMap((row) => (typeof row[k] === "number" ? [row[k] as number] : []));
      if (values.every(Number.isInteger)) return 0;
      return Math.min(6, decimalsFor(Math.max(...values.map(Math.abs)), 5));
    }),
  );
  /** Columns of words are read from the left; digits as they are typed are no words. */
  const inWords = (column: number) =>
    figure().table.rows.some((row) => typeof row[column] === "string" && /\p{L}/u.test(row[column]));
  const drawing = () =>
    drawFigure(
      figure(),
      printing()
        ? { width: props.beside ? besideWidth : paperWidth, low: true }
        : { width: width(), picks: props.onPick !== undefined },
    );
  /** Of which job, and when it was drawn: what a picture that went its own way is asked first. */
  const stamp = () => {
    const n = book.notebook();
    return `${n.title || n.job.name || "A tank without a name"}, drawn ${new Date().toLocaleString()}`;
  };
  const pressed = (e: MouseEvent) => {
    const at = e.target instanceof Element ? e.target.closest("[data-pick]")?.getAttribute("data-pick") : null;
    if (at) props.onPick?.(Number(at));
  };
  const whole = () => new Blob([drawFramed(figure(), { width: 760, stamp: stamp() })], { type: "image/svg+xml" });
  const tableText = () => writeCsv([figure().table.columns, ...figure().table.rows.map((r) => r.map((c) => c ?? ""))]);
  const save = (content: Blob, ending: string) => {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(content);
    link.download = `${figure().id}.${ending}`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  };
  /** The drawing as a picture of twice its size, on paper. */
  const savePicture = async () => {
    const address = URL.createObjectURL(whole());
    try {
      const image = new Image();
      image.src = address;
      await image.decode();
      const canvas = document.createElement("canvas");
      canvas.width = 2 * image.width;
      canvas.height = 2 * image.height;
      const pen = canvas.getContext("2d");
      if (!pen) throw new Error("the browser has no canvas");
      pen.fillStyle = getComputedStyle(document.documentElement).getPropertyValue("--paper");
      pen.fillRect(0, 0, canvas.width, canvas.height);
      pen.drawImage(image, 0, 0, canvas.width, canvas.height);
      canvas.toBlob((blob) => blob && save(blob, "png"));
    } catch (error) {
      setFailed(error instanceof Error ? error.message : String(error));
    } finally {
      URL.revokeObjectURL(address);
    }
  };
  return (
    <figure aria-labelledby={id}>
      <figcaption id={id}>{figure().finding}</figcaption>
      <div class={near() ? "drawing near" : "drawing"} ref={place}>
        {/* The same choice stands in the margin for the keyboard: the drawing is a second way to it. */}
        {/* biome-ignore lint/a11y/noStaticElementInteractions: see above */}
        {/* biome-ignore lint/a11y/useKeyWithClickEvents: see above */}
        <div class={near() ? "for-print" : undefined} innerHTML={drawing()} onClick={pressed} />
        <Show when={near()}>
          <div ref={closer} style={{ height: "420px" }} />
        </Show>
      </div>
      <Show when={failed()}>
        <p class="small">This did not work: {failed()}</p>
      </Show>
      <Show when={figure().key.length > 0}>
        <p class="key">
          <For each={figure().key}>
            {(k) => (
              <span>
                <span innerHTML={keyShape(k.role, k.nth)} /> {tied(k.text)}
              </span>
            )}
          </For>
        </p>
      </Show>
      <Show when={props.onPick && !near() && props.pickHint}>
        {(hint) => <p class="small screen pick-hint">{hint()}</p>}
      </Show>
      <p class="figure-acts">
        <button type="button" class="word" aria-describedby={id} onClick={() => setNear(!near())}>
          {near() ? "Back to the drawing" : "Look closer"}
        </button>
        <button type="button" class="word" aria-describedby={id} onClick={() => save(whole(), "svg")}>
          Save the drawing
        </button>
        <button type="button" class="word" aria-describedby={id} onClick={() => void savePicture()}>
          Save a picture
        </button>
      </p>
      <details onToggle={(e) => e.currentTarget.open && setOpened(true)}>
        <summary aria-describedby={id}>The figures of this drawing as a table</summary>
        <Show when={opened()}>
          <div>
            <div class="scroll" tabindex="0" role="region" aria-label={`${figure().finding}, as a table`}>
              <table class="wide-table">
                <thead>
                  <tr>
                    <For each={figure().table.columns}>
                      {(c, column) => <th classList={{ number: !inWords(column()) }}>{c}</th>}
                    </For>
                  </tr>
                </thead>
                <tbody>
                  <For each={figure().table.rows.slice(0, mostRows)}>
                    {(row) => (
                      <tr>
                        <For each={row}>
                          {(cell, column) => (
                            <td classList={{ number: !inWords(column()) }}>
                              {typeof cell === "number" ? fixed(cell, decimals()[column()]!) : (cell ?? "")}
                            </td>
                          )}
                        </For>
                      </tr>
                    )}
                  </For>
                </tbody>
              </table>
            </div>
            <Show when={figure().table.rows.length > mostRows}>
              <p class="small">
                The first {mostRows} of {figure().table.rows.length} rows.{" "}
                <button
                  type="button"
                  class="word"
                  aria-describedby={id}
                  onClick={() => save(new Blob([tableText()], { type: "text/csv" }), "csv")}
                >
                  Save all rows
                </button>
              </p>
            </Show>
          </div>
        </Show>
      </details>
    </figure>
  );
}
