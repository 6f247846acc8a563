/** The settings card: one number a line, tap to copy, tick when entered; the present one can be read at two metres. */

import { createEffect, createMemo, createSignal, For, type JSX, onCleanup, onMount, Show } from "solid-js";
import { useNotebook } from "../notebook/open-notebook";
import type { SettingLine, Settings } from "../pipeline/settings";
import { saidIn } from "../said";
import { Tick } from "../ui/fields";
import { titleOf } from "./take-away";

export function Card(): JSX.Element {
  const book = useNotebook();
  const settings = createMemo<Settings | null>((before) => {
    const s = book.answers.settings();
    return s.state === "ready" ? s.value : before === undefined ? null : before;
  });
  // The card has an address of its own, so that a phone can keep it; what stands there may come after the address was read.
  const follow = () => {
    const here = location.hash === "#card";
    document.documentElement.classList.toggle("card-open", here);
    if (here) scrollTo(0, 0);
  };
  onMount(() => {
    follow();
    addEventListener("hashchange", follow);
    onCleanup(() => removeEventListener("hashchange", follow));
  });
  const why = () => {
    const s = book.answers.settings();
    return s.state === "stuck"
      ? `There is nothing to type in yet. ${saidIn(s.issue.says, book.volume())}`
      : "Being computed.";
  };
  return (
    <Show
      when={settings()}
      fallback={
        <section class="card" aria-label="Settings card">
          <header>
            <h2>{titleOf(book) || "This tank"}</h2>
            <p>{why()}</p>
            <p>
              <a href="#sheet">Back to the sheet</a>
            </p>
          </header>
        </section>
      }
    >
      {(s) => <CardOf settings={s()} title={titleOf(book)} />}
    </Show>
  );
}

/** Ticks belong to these very numbers: other numbers, no ticks. */
const keyOf = (lines: SettingLine[]) => `fillbook card ${lines.map((l) => l.digits).join(" ")}`;

function CardOf(props: { settings: Settings; title: string }): JSX.Element {
  const book = useNotebook();
  const lines = () => props.settings.lines;
  const [done, setDone] = createSignal<ReadonlySet<string>>(new Set());
  const [copied, setCopied] = createSignal("");
  createEffect(() => {
    const kept = localStorage.getItem(keyOf(lines()));
    setDone(new Set<string>(kept ? (JSON.parse(kept) as string[]) : []));
  });
  const toggle = (path: string) => {
    const next = new Set(done());
    if (!next.delete(path)) next.add(path);
    setDone(next);
    localStorage.setItem(keyOf(lines()), JSON.stringify([...next]));
  };
  const now = () => lines().find((l) => !done().has(l.path))?.path ?? null;
  const copy = (l: SettingLine) =>
    navigator.clipboard
      ?.writeText(l.digits)
      .then(() => setCopied(`${l.digits} copied.`))
      .catch(() => setCopied("The browser refused to copy."));
  const doubts = () => {
    const s = book.answers.suspectSteps();
    const n = s.state === "ready" ? s.value.notConfirmed : 0;
    return [
      n > 0 ? `These numbers stand on ${n === 1 ? "one decision" : `${n} decisions`} that nobody has confirmed.` : "",
      props.settings.warning ? "" : "The warning point is still missing.",
      book.anyStale() ? "They are being computed anew: wait before you type." : "",
    ].filter(Boolean);
  };
  return (
    <section class="card" id="card" aria-label="Settings card">
      <header>
        <h2>{props.title || "This tank"}: type these in</h2>
        <p>
          {done().size} of {lines().length} entered.{" "}
          <span class="screen">
            Tap a number to copy it. <a href="#hand-over">Back to the sheet</a>
          </span>
        </p>
        <p class="out-of-sight" role="status">
          {copied()}
        </p>
      </header>
      <div class="through" style={{ "--done": `${(100 * done().size) / Math.max(1, lines().length)}%` }} />
      <ol>
        <For each={lines()}>
          {(l) => (
            <li
              classList={{
                done: done().has(l.path),
                now: now() === l.path,
                pair: l.group === "table" && l.path.endsWith("reading"),
              }}
            >
              <span class="setting-name">{l.label}</span>
              <button
                type="button"
                class="setting-value"
                classList={{ long: l.digits.length > 4 }}
                aria-label={`Copy ${l.digits} ${l.unit}`}
                onClick={() => void copy(l)}
              >
                {l.digits}
                <span class="setting-unit">{l.unit}</span>
              </button>
              <button
                type="button"
                class="box"
                aria-pressed={done().has(l.path)}
                aria-label={`${l.label} entered`}
                onClick={() => toggle(l.path)}
              >
                <Tick />
              </button>
            </li>
          )}
        </For>
      </ol>
      <footer class={doubts().length > 0 ? "doubt" : ""}>
        <Show when={doubts().length > 0} fallback={<p>No decision is left open.</p>}>
          <For each={doubts()}>{(d) => <p>{d}</p>}</For>
        </Show>
      </footer>
    </section>
  );
}
