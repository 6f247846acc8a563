/** The burn that a drive log measured, to be taken as the consumption with one press. */
import { For, type JSX, Show } from "solid-js";
import { valueIn } from "../answer";
import { useNotebook } from "../notebook/open-notebook";
import { measuredBurns } from "../pipeline/measured-burn";
import { measuredBurnPhrases } from "../pipeline/words/range-left";
import { phrasesInUnit } from "../said";
import { Sentence } from "../ui/Sentence";

export function MeasuredBurns(): JSX.Element {
  const book = useNotebook();
  const burns = () => {
    const job = valueIn(book.answers.job());
    const logs = valueIn(book.answers.driveLog());
    return job && logs ? measuredBurns(logs, job) : [];
  };
  return (
    <For each={burns()}>
      {(burn) => (
        <p class="small screen measured-burn">
          <Sentence phrases={phrasesInUnit(measuredBurnPhrases(burn), book.volume())} />
          <Show when={!burn.taken && burn.reserveIn === null}>
            {" "}
            <button
              type="button"
              class="word"
              onClick={() =>
                book.edit({
                  edit: "job",
                  path: ["consumption"],
                  value: burn.consumption,
                  label: `the consumption to what ${burn.file} measured`,
                })
              }
            >
              Take this burn<span class="out-of-sight"> of {burn.file} as the consumption</span>
            </button>
          </Show>
        </p>
      )}
    </For>
  );
}
