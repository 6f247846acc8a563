/** The frame of a leaf: number, trust, question, answer in a sentence, conditions, evidence, choice, working, note. */
import { type Accessor, createMemo, For, type JSX, Show } from "solid-js";
import type { Answer, Issue } from "../answer";
import { tied } from "../format";
import { useNotebook } from "../notebook/open-notebook";
import { noChoices } from "../pipeline/choices";
import type { StageName } from "../pipeline/index";
import { leafTrust, waitsFor } from "../pipeline/words/all";
import type { Beside, Finding, WorkingLine } from "../pipeline/words/finding";
import { findingInUnit, workingInUnit } from "../pipeline/words/volume";
import { type Said, saidIn } from "../said";
import { plainText, Sentence } from "../ui/Sentence";
import { Working } from "./Working";

export interface LeafProps<T> {
  number: number;
  name: string;
  title: string;
  question: string;
  stage: StageName;
  answer: Answer<T>;
  finding: (value: T) => Finding;
  working?: (value: T) => WorkingLine[];
  /** Roots of the published analysis that this leaf stands for: every figure of theirs is listed in the working. */
  blocks: string[];
  /** Both are called once and follow the value: what is drawn anew at each change would lose focus, open parts and a figure looked at closely. */
  margin?: (value: Accessor<T>) => JSX.Element;
  children?: (value: Accessor<T>) => JSX.Element;
  /** What is offered while the leaf is stuck. */
  offer?: JSX.Element;
  /** In the margin, also while the leaf is stuck: fields of a choice that may be what it is stuck on. */
  own?: JSX.Element;
  /** Always shown, with or without an answer: a job's fields. */
  always?: JSX.Element;
}

/** So many cautions stand open under a finding. */
const atOnce = 6;
const lightness = (c: Issue): number => (c.weight === "doubtful" ? 0 : c.weight === "holds-if" ? 1 : 2);

export function Leaf<T>(props: LeafProps<T>): JSX.Element {
  const book = useNotebook();
  const folded = () => book.notebook().folded.includes(props.name);
  const stale = () => book.stale(props.stage);
  const trust = createMemo(() => leafTrust(props.name, props.answer, book.answers.curve()));
  const finding = createMemo(() =>
    props.answer.state === "ready" ? findingInUnit(props.finding(props.answer.value), book.volume()) : null,
  );
  /** The value shown: the last one that was ready. Only read where there is one. */
  const value = createMemo<T>((before) => (props.answer.state === "ready" ? props.answer.value : (before as T)));
  /** The heavy ones first: of many odd lines in a file only the first few are read at once. */
  const unsaid = createMemo(() =>
    props.answer.state === "ready"
      ? props.answer.cautions
          .filter((c) => !finding()?.says?.includes(c.code))
          .sort((a, b) => lightness(a) - lightness(b))
      : [],
  );
  const said = (words: Said) => saidIn(words, book.volume());
  const caution = (c: Issue): JSX.Element => (
    <p class="caution small">{tied(`${said(c.says)} ${said(c.remedy ?? "")}`)}</p>
  );
  const fold = (to: boolean) => book.edit({ edit: "fold", leaf: props.name, folded: to });
  /** Only what another leaf wants: said in a line, since what mends it stands there. */
  const waits = createMemo(() => (props.offer || props.always ? null : waitsFor(props.name, props.answer)));
  const short = (): JSX.Element => (
    <Show when={waits()} fallback={props.answer.state === "stuck" ? said(props.answer.issue.says) : "Being computed."}>
      {(w) => (
        <>
          Waits for the{" "}
          <a href={`#${w().name}`}>
            {w().title}, leaf {w().number}
          </a>
          .
        </>
      )}
    </Show>
  );
  return (
    <Show
      when={!folded()}
      fallback={
        <section class="folded" id={props.name} classList={{ stale: stale() }}>
          <span class="folded-number">{props.number}</span>
          <h2>
            <i>{props.question}</i>
            <span class="folded-answer">
              <Show when={finding()} fallback={short()}>
                {(f) => <Sentence phrases={f().sentence} />}
              </Show>
            </span>
          </h2>
          <span class="folded-open">
            <button type="button" class="word" onClick={() => fold(false)}>
              Open<span class="out-of-sight"> {props.title}</span>
            </button>
          </span>
        </section>
      }
    >
      <section
        class={`leaf ${props.answer.state === "waiting" ? "waits" : trust().trust}`}
        id={props.name}
        classList={{ stale: stale(), "handed-on": waits() !== null }}
        aria-label={props.title}
      >
        <div class="spread opening">
          <div class="leaf-number">
            {props.number}
            <small>
              {props.title}
              <b>{props.answer.state === "waiting" ? "waits" : trust().word}</b> {said(trust().condition ?? "")}
            </small>
          </div>
          <div class="main">
            <p class="question">{props.question}</p>
            <Show when={finding()} fallback={<h2 class="finding">{short()}</h2>}>
              {(f) => (
                <h2 class="finding">
                  <Sentence phrases={f().sentence} />
                </h2>
              )}
            </Show>
            <Show when={finding()?.further?.length}>
              <p class="further">
                <Sentence phrases={finding()!.further!} />
              </p>
            </Show>
            <Show when={stale()}>
              <p class="printed">Left out: being recomputed.</p>
              <div class="moving" role="progressbar" aria-label={`${props.title}, being recomputed`} />
            </Show>
            <Show when={props.answer.state === "stuck" && !waits() && (props.answer as { issue: Issue }).issue}>
              {(issue) => <p>{tied(said(issue().remedy ?? ""))}</p>}
            </Show>
            <Show when={finding()?.beside}>{(b) => <YoursBeside beside={b()} title={props.title} />}</Show>
            <Show when={finding()?.caution}>{(c) => <p class="caution">{tied(said(c()))}</p>}</Show>
            <For each={unsaid().slice(0, atOnce)}>{caution}</For>
            <Show when={unsaid().length > atOnce}>
              <details class="small">
                <summary>
                  And {unsaid().length - atOnce} more<span class="out-of-sight"> about the {props.title}</span>
                </summary>
                <For each={unsaid().slice(atOnce)}>{caution}</For>
              </details>
            </Show>
          </div>
          <aside class="margin small" aria-label={`${props.title}, conditions`}>
            <Show when={plainText(finding()?.condition ?? [])}>
              <p>
                <Sentence phrases={finding()!.condition} />
              </p>
            </Show>
            <Show when={!waits()}>
              <p class="fold screen">
                <button type="button" class="word" onClick={() => fold(true)}>
                  Fold<span class="out-of-sight"> {props.title}</span>
                </button>
              </p>
            </Show>
          </aside>
        </div>
        <Show when={!waits() || book.notebook().notes[props.name]}>
          <div class="spread evidence">
            <div class="main">
              {props.always}
              <Show when={props.answer.state === "ready"} fallback={props.offer}>
                {props.children?.(value)}
              </Show>
            </div>
            <aside class="margin level" aria-label={`${props.title}, yours to choose`}>
              <Show when={props.answer.state === "ready"}>{props.margin?.(value)}</Show>
              {props.own}
              <NoteField leaf={props.name} title={props.title} />
            </aside>
            <Show when={props.answer.state === "ready"}>
              <div class="main behind">
                <Working
                  lines={workingInUnit(props.working?.(value()) ?? [], book.volume())}
                  blocks={props.blocks}
                  title={props.title}
                />
              </div>
            </Show>
          </div>
        </Show>
      </section>
    </Show>
  );
}

/** What was chosen by hand and what is recommended, side by side with what each does; and the way back. */
function YoursBeside(props: { beside: Beside; title: string }): JSX.Element {
  const book = useNotebook();
  const key = () => props.beside.key;
  return (
    <div class="beside">
      <table aria-label={`${props.title}, yours beside what is recommended`}>
        <thead>
          <tr>
            <td />
            <th scope="col" class="number yours">
              Yours
            </th>
            <th scope="col" class="number">
              Recommended
            </th>
          </tr>
        </thead>
        <tbody>
          <For each={props.beside.rows}>
            {(row) => (
              <tr>
                <th scope="row">{row.what}</th>
                <td class="number yours">
                  <Sentence phrases={row.yours} />
                </td>
                <td class="number">
                  <Sentence phrases={row.recommended} />
                </td>
              </tr>
            )}
          </For>
        </tbody>
      </table>
      <p class="small">
        <Sentence phrases={props.beside.after} />{" "}
        <button
          type="button"
          class="word"
          onClick={() =>
            book.edit({
              edit: "choose",
              key: key(),
              value: noChoices[key()],
              label: `take what is recommended for the ${props.title}`,
            })
          }
        >
          Take what is recommended<span class="out-of-sight"> for the {props.title}</span>
        </button>
      </p>
    </div>
  );
}

function NoteField(props: { leaf: string; title: string }): JSX.Element {
  const book = useNotebook();
  const note = () => book.notebook().notes[props.leaf];
  return (
    <div class="note" classList={{ empty: !note() }}>
      <label>
        <span class="out-of-sight">Your note on {props.title}</span>
        <textarea
          rows={2}
          placeholder="Your note"
          value={note()?.text ?? ""}
          onChange={(e) => {
            if (e.currentTarget.value !== (note()?.text ?? ""))
              book.edit({ edit: "note", leaf: props.leaf, text: e.currentTarget.value });
          }}
        />
      </label>
    </div>
  );
}
