/** The working of a leaf, folded: formula, numbers, source, and every published figure that it stands for. */
import { createMemo, For, type JSX, Show } from "solid-js";
import { useNotebook } from "../notebook/open-notebook";
import type { ReadLine } from "../pipeline/words/volume";
import { Sentence } from "../ui/Sentence";

/** Formula, the numbers put in, the source; then every published figure of the leaf with its path. */
export function Working(props: { lines: ReadLine[]; blocks: string[]; title: string }): JSX.Element {
  return (
    <>
      <Show when={props.lines.length > 0}>
        <details>
          <summary>
            <b>Working</b> formula, the numbers put in, the source
            <span class="out-of-sight">, {props.title}</span>
          </summary>
          <div>
            <dl class="working">
              <For each={props.lines}>
                {(line) => (
                  <div>
                    <dt>{line.what}</dt>
                    <Show when={line.formula}>
                      <dd class="formula">{line.formula}</dd>
                    </Show>
                    <dd>
                      <Sentence phrases={line.figures} />
                    </dd>
                    <Show when={line.source}>
                      <dd class="source">{line.source}</dd>
                    </Show>
                  </div>
                )}
              </For>
            </dl>
          </div>
        </details>
      </Show>
      <Published blocks={props.blocks} title={props.title} />
    </>
  );
}

/** Every figure under some roots of the published analysis. */
function Published(props: { blocks: string[]; title: string }): JSX.Element {
  const book = useNotebook();
  const rows = createMemo(() => {
    const analysis = book.analysis();
    if (!analysis) return [];
    return props.blocks.flatMap((root) => flatten(root, analysis[root]));
  });
  return (
    <details>
      <summary>
        <b>Every figure</b> of this leaf as it is published
        <span class="out-of-sight">, {props.title}</span>
      </summary>
      <div>
        <div class="scroll" tabindex="0" role="region" aria-label={`${props.title}, every figure`}>
          <table class="wide-table">
            <tbody>
              <For each={rows()}>
                {(row) => (
                  <tr>
                    <th scope="row">{row.path}</th>
                    <td class={typeof row.value === "number" ? "number" : "says"}>
                      <span data-path={row.path} data-value={row.value}>
                        {typeof row.value === "number" ? sixDigits(row.value) : row.value}
                      </span>
                    </td>
                  </tr>
                )}
              </For>
            </tbody>
          </table>
        </div>
      </div>
    </details>
  );
}

/** Six figures; a number too large to be read at a glance as a power of ten, so that no invented zeros stand in it. */
const sixDigits = (value: number): string =>
  Math.abs(value) < 1e7 ? String(Number(value.toPrecision(6))) : value.toExponential(5);

function flatten(path: string, value: unknown): { path: string; value: number | string }[] {
  if (value === null || value === undefined) return [];
  if (typeof value === "number" || typeof value === "string") return [{ path, value }];
  if (typeof value === "boolean") return [{ path, value: value ? "yes" : "no" }];
  return Object.entries(value as Record<string, unknown>).flatMap(([k, v]) => flatten(`${path}.${k}`, v));
}
