/** A sentence with figures set in: each carries its value and where it stands in the published analysis. */
import { For, type JSX } from "solid-js";
import { tied } from "../format";
import type { Phrase } from "../pipeline/words/finding";

export function Sentence(props: { phrases: Phrase[] }): JSX.Element {
  return (
    <For each={props.phrases}>
      {(phrase) =>
        typeof phrase === "string" ? (
          tied(phrase)
        ) : (
          <span
            class="quantity"
            data-path={phrase.path ?? undefined}
            data-value={phrase.path ? phrase.value : undefined}
            data-size-only={phrase.sizeOnly ? "" : undefined}
            data-times={phrase.times}
          >
            {phrase.text}
          </span>
        )
      }
    </For>
  );
}

/** The same as plain text: for titles and screen readers. */
export const plainText = (phrases: Phrase[]): string =>
  phrases.map((p) => (typeof p === "string" ? p : p.text)).join("");
