/** For those who hear the page: once all is computed, what a change did to the leaf in hand and to the verdict of the whole. */
import { createEffect, createSignal, type JSX, on } from "solid-js";
import { useNotebook } from "../notebook/open-notebook";
import { headOf } from "../pipeline/words/head";
import { saidIn } from "../said";
import { plainText } from "../ui/Sentence";
import { answersNow } from "./answers-of";
import { changesToSay, type Said } from "./what-changed";

export function Announce(): JSX.Element {
  const book = useNotebook();
  const [text, setText] = createSignal("");
  let before: Said | null = null;
  createEffect(
    on(book.anyStale, (stale) => {
      if (stale) return;
      const head = headOf(answersNow(book));
      const now: Said = {
        verdict: plainText(head.verdict),
        leaves: Object.fromEntries(
          head.leaves.map(({ name, finding, answer }) => [
            name,
            finding
              ? plainText(finding.sentence)
              : answer.state === "stuck"
                ? saidIn(answer.issue.says, book.volume())
                : "",
          ]),
        ),
      };
      const say = before ? changesToSay(before, now, document.activeElement?.closest(".leaf")?.id ?? null) : "";
      before = now;
      if (say) setText(say);
    }),
  );
  return (
    <p class="out-of-sight" role="status" aria-label="What changed">
      {text()}
    </p>
  );
}
