/** What is said of one typed row: what cannot be as it stands, else how it fits those before it. */

import { For, type JSX, Show } from "solid-js";
import { tied } from "../format";
import { useNotebook } from "../notebook/open-notebook";
import type { RowJudgement, WatchWeight } from "../pipeline/pour-watch";
import { saidIn } from "../said";

/** What asks for a check stands first. */
const heavy: Record<WatchWeight, number> = { check: 0, look: 1, fine: 2 };

export function PourRemarks(props: { cannotBe: string[]; judged: RowJudgement | undefined }): JSX.Element {
  const book = useNotebook();
  return (
    <Show
      when={props.cannotBe.length === 0 && props.judged}
      fallback={
        <For each={props.cannotBe}>
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
        <For each={[...j().remarks].sort((a, b) => heavy[a.weight] - heavy[b.weight])}>
          {(r) => (
            <span class={r.weight === "check" ? "check" : ""}>
              {r.weight === "check" ? <b>Check: </b> : ""}
              {tied(saidIn(r.says, book.volume()))}{" "}
            </span>
          )}
        </For>
      )}
    </Show>
  );
}
