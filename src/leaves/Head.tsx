/** The head: the job, one sentence of verdict, four rows; beside it the contents with each leaf's short answer. */

import { createMemo, For, type JSX, Show } from "solid-js";
import { valueIn } from "../answer";
import { useNotebook } from "../notebook/open-notebook";
import { type LeafName, leafTitles, leafTrust } from "../pipeline/words/all";
import { headOf } from "../pipeline/words/head";
import { Sentence } from "../ui/Sentence";
import { answersNow } from "./answers-of";
import { isEmpty, Opening } from "./Opening";
import { TypeIn } from "./TypeIn";
import { titleOf } from "./take-away";

/** While nothing is measured it says where to begin in place of what is missing everywhere. */
export function Head(props: { toPourSheet: () => void }): JSX.Element {
  const book = useNotebook();
  const head = createMemo(() => headOf(answersNow(book)));
  const table = () => valueIn(book.answers.table());
  const jump = (name: string) => {
    if (book.notebook().folded.includes(name)) book.edit({ edit: "fold", leaf: name, folded: false });
  };
  return (
    <header class="head">
      <div class="spread">
        <div class="main">
          <h1>
            <textarea
              class="title screen"
              aria-label="Title"
              rows={1}
              value={titleOf(book)}
              placeholder="A tank without a name"
              onKeyDown={(e) => {
                // It wraps on a phone, and is one line of text all the same.
                if (e.key !== "Enter") return;
                e.preventDefault();
                e.currentTarget.blur();
              }}
              onChange={(e) => book.edit({ edit: "title", title: e.currentTarget.value.replace(/\s+/g, " ").trim() })}
            />
            <span class="printed-title">{titleOf(book) || "A tank without a name"}</span>
          </h1>
          <textarea
            class="about small screen"
            aria-label="What it is about"
            placeholder="Which boat or vehicle, where and when it was filled"
            rows={2}
            value={book.notebook().about}
            onChange={(e) => book.edit({ edit: "about", about: e.currentTarget.value })}
          />
          <p class="about small for-print">{book.notebook().about}</p>
          <p class="finding" classList={{ old: book.anyStale() }}>
            <Sentence phrases={head().verdict} />
          </p>
          <Show when={!isEmpty(book)} fallback={<Opening toPourSheet={props.toPourSheet} />}>
            <dl class="summary">
              <For each={head().rows}>
                {(row) => (
                  <div class={`row ${row.trust}`}>
                    <dt>
                      {row.name}
                      <span class="out-of-sight">, {row.trust.replace("-", " ")}</span>
                    </dt>
                    <dd>
                      <Show when={row.name === "Type in" && table()}>{(t) => <TypeIn table={t()} />}</Show>
                      <For each={row.parts}>
                        {(part) => (
                          <p>
                            <Sentence phrases={part.phrases} />{" "}
                            <Show when={row.name === "Type in"}>
                              <a class="screen" href="#card">
                                Open as a card on your phone
                              </a>
                            </Show>
                            <Show when={row.name !== "Type in" && part.leaf}>
                              {(leaf) => (
                                <a class="screen" href={`#${leaf().name}`} onClick={() => jump(leaf().name)}>
                                  Leaf&nbsp;{leaf().number}
                                  <span class="out-of-sight">, {leafTitles[leaf().name as LeafName]}</span>
                                </a>
                              )}
                            </Show>
                          </p>
                        )}
                      </For>
                    </dd>
                  </div>
                )}
              </For>
            </dl>
          </Show>
        </div>
        <nav class="margin" aria-labelledby="contents-heading">
          <p class="margin-heading" id="contents-heading">
            Leaves and what they say
          </p>
          <ol class="contents">
            <For each={head().leaves}>
              {(leaf, i) => (
                <li>
                  <a
                    href={`#${leaf.name}`}
                    class={
                      leaf.answer.state === "waiting" || (isEmpty(book) && leaf.answer.state === "stuck")
                        ? "waits"
                        : leafTrust(leaf.name, leaf.answer, book.answers.curve()).trust
                    }
                    onClick={() => jump(leaf.name)}
                  >
                    <span class="contents-number">{i() + 1}</span>
                    <span class="contents-title">{leaf.title}</span>
                    <span class="leader" />
                    <span class="contents-answer">
                      <Show when={leaf.finding} fallback={leaf.answer.state === "waiting" ? "at work" : "waits"}>
                        {(f) => <Sentence phrases={f().short} />}
                      </Show>
                    </span>
                  </a>
                </li>
              )}
            </For>
          </ol>
        </nav>
      </div>
    </header>
  );
}
