/** Fields are lines to write on; options tell beforehand what they cost. */
import { createEffect, createSignal, createUniqueId, For, Index, type JSX, on, Show } from "solid-js";
import { Aligned, decimalsIn } from "./Aligned";

/** Comma or point, a blank means "not stated"; undefined for what is no number. */
export function readNumber(text: string): number | null | undefined {
  const trimmed = text.trim().replace(",", ".").replace("\u2212", "-");
  if (trimmed === "") return null;
  const value = Number(trimmed);
  return Number.isFinite(value) ? value : undefined;
}

/**
 * @param props.refuse says why a number cannot be taken; null where it can. What counted before goes on counting.
 * @param props.taken what the device makes of the number that stands here, where that is another one.
 */
export function NumberField(props: {
  label: string;
  value: number | null;
  unit?: string;
  hint?: string;
  refuse?: (value: number) => string | null;
  taken?: string | null;
  onChange: (value: number | null) => void;
}): JSX.Element {
  const id = createUniqueId();
  const [refused, setRefused] = createSignal<string | null>(null);
  // Taken back, or chosen elsewhere: what was refused stands here no longer.
  createEffect(
    on(
      () => props.value,
      () => setRefused(null),
      { defer: true },
    ),
  );
  return (
    <p class="field">
      <label for={id}>{props.label}</label>
      <input
        id={id}
        aria-describedby={`${id}u`}
        aria-invalid={refused() !== null}
        class="write-on"
        inputmode="decimal"
        autocomplete="off"
        value={props.value ?? ""}
        placeholder={props.hint ?? ""}
        onChange={(e) => {
          const value = readNumber(e.currentTarget.value);
          const why =
            value === undefined
              ? `“${e.currentTarget.value}” is no number:`
              : value === null
                ? null
                : (props.refuse?.(value) ?? null);
          setRefused(why);
          if (why === null && value !== undefined && value !== props.value) props.onChange(value);
        }}
      />
      <span id={`${id}u`}>{props.unit ?? ""}</span>
      <Show when={refused()}>
        {(why) => (
          <span class="refused" role="alert">
            {why()} {stillCounts(why(), props.value)}
          </span>
        )}
      </Show>
      <Show when={!refused() && props.taken}>{(taken) => <span class="refused">{taken()}</span>}</Show>
    </p>
  );
}

/** After a colon, or as a sentence of its own. */
function stillCounts(why: string, value: number | null): string {
  const says = value === null ? "the field counts as blank." : `${value} still counts.`;
  return why.endsWith(":") ? says : says.replace(/^t/, "T");
}

export function TextField(props: { label: string; value: string; onChange: (value: string) => void }): JSX.Element {
  const id = createUniqueId();
  return (
    <p class="field">
      <label for={id}>{props.label}</label>
      <input
        id={id}
        class="write-on words"
        autocomplete="off"
        value={props.value}
        onChange={(e) => {
          if (e.currentTarget.value !== props.value) props.onChange(e.currentTarget.value);
        }}
      />
      <span />
    </p>
  );
}

/** Words longer than this are cut off beside a label: the choice then stands under it. */
const besideLabel = 18;

export function SelectField<T extends string>(props: {
  label: string;
  value: T;
  options: { value: T; label: string }[];
  onChange: (value: T) => void;
}): JSX.Element {
  const id = createUniqueId();
  return (
    <p class="field" classList={{ long: props.options.some((o) => o.label.length > besideLabel) }}>
      <label for={id}>{props.label}</label>
      <select id={id} class="write-on" onChange={(e) => props.onChange(e.currentTarget.value as T)}>
        <For each={props.options}>
          {(o) => (
            <option value={o.value} selected={o.value === props.value}>
              {o.label}
            </option>
          )}
        </For>
      </select>
      <span />
    </p>
  );
}

export function Tick(): JSX.Element {
  return (
    <svg class="pencil-tick" viewBox="0 0 17 17" aria-hidden="true">
      <path d="M2.5 9.5 L6.5 13.5 L14.5 3.5" />
    </svg>
  );
}

export interface Option {
  label: string;
  cost: string;
  set: boolean;
  take: () => void;
}

/** Ways to choose; each says beforehand what it would cost. */
export function Options(props: { title: string; costs: string; options: Option[] }): JSX.Element {
  const id = createUniqueId();
  const most = () => Math.max(0, ...props.options.map((o) => decimalsIn(o.cost)));
  return (
    <>
      <p class="option-heads">
        <b id={id}>{props.title}</b>
        <span>{props.costs}</span>
      </p>
      <ul class="options" aria-labelledby={id}>
        <Index each={props.options}>
          {(o) => (
            <li>
              <button type="button" aria-pressed={o().set} onClick={() => o().take()}>
                <Show when={o().set}>
                  <Tick />
                </Show>
                <span>
                  {o().label}
                  <Show when={o().cost}>
                    <span class="out-of-sight">, {props.costs} </span>
                  </Show>
                </span>
                <span class="number">
                  <Aligned text={o().cost} most={most()} />
                </span>
              </button>
            </li>
          )}
        </Index>
      </ul>
    </>
  );
}
