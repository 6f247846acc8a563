/** Pour sheet: before the first pour, a page to print: how many pours of what size, what to write down, what to beware of. */

import { For, type JSX, Show } from "solid-js";
import { fixed } from "../format";
import { useNotebook } from "../notebook/open-notebook";
import { planPours } from "../pipeline/pour-plan";
import { inVolume, volumeText } from "../pipeline/words/volume";
import { statedIn } from "../quantity";
import { saidIn } from "../said";
import { NumberField } from "../ui/fields";

/** Stands without any data; the one thing that it needs is what the tank holds. */
export function PourSheet(props: { close: () => void }): JSX.Element {
  const book = useNotebook();
  const plan = () => {
    const job = book.answers.job();
    return job.state === "ready" ? planPours(job.value) : null;
  };
  const stated = () => statedIn(book.volume());
  const state = (path: string[], label: string) => (value: number | null) =>
    book.edit({ edit: "job", path, value: value === null ? null : value * stated().litres, label });
  return (
    <section class="pour-sheet" aria-label="Pour sheet">
      <p class="question">How many pours, of what size, and what do you write down?</p>
      <Show
        when={plan()}
        fallback={<h2 class="finding">Say what the tank holds: the number of pours follows from it.</h2>}
      >
        {(p) => (
          <h2 class="finding">
            Pour{" "}
            <span class="quantity">
              {p().pours} times {volumeText(p().size_L, book.volume())}
            </span>
            {p().enough ? "." : ": less than that would tell more, as said below."}
          </h2>
        )}
      </Show>
      <div class="fields screen">
        <NumberField
          label="The tank holds"
          value={inVolume(book.notebook().job.tank?.capacity_L ?? null, stated())}
          unit={stated().sign}
          onChange={state(["tank", "capacity_L"], "the capacity")}
        />
        <NumberField
          label="Your container holds"
          value={inVolume(book.notebook().job.pour?.size_L ?? null, stated())}
          unit={stated().sign}
          hint="any"
          onChange={state(["pour", "size_L"], "the size of a pour")}
        />
        <NumberField
          label="How good it must be: ±"
          value={inVolume(book.notebook().job.targets?.tolerance_L ?? null, stated())}
          unit={stated().sign}
          hint={plan() ? fixed(plan()!.tolerance_L / stated().litres, 1) : ""}
          onChange={state(["targets", "tolerance_L"], "the tolerance")}
        />
      </div>
      <Show when={plan()}>
        {(p) => (
          <>
            <For each={p().why}>{(line) => <p>{saidIn(line, book.volume())}</p>}</For>
            <div class="lists">
              <div>
                <h3>Write down</h3>
                <ul>
                  <For each={p().writeDown}>{(line) => <li>{saidIn(line, book.volume())}</li>}</For>
                </ul>
              </div>
              <div>
                <h3>Beware</h3>
                <ul>
                  <For each={p().cautions}>{(line) => <li>{saidIn(line, book.volume())}</li>}</For>
                </ul>
              </div>
            </div>
            <p class="signatures of-sheet for-print">
              <span>Tank</span>
              <span>Poured by</span>
              <span>Date</span>
            </p>
            <table class="wide-table by-hand">
              <caption>The sheet</caption>
              <thead>
                <tr>
                  <th>Step</th>
                  <th class="number">Poured, {book.volume().sign}</th>
                  <th class="number">So far, {book.volume().sign}</th>
                  <th class="number">Reading</th>
                  <th>Remarks</th>
                </tr>
              </thead>
              <tbody>
                <For each={Array.from({ length: p().pours + 1 }, (_, i) => i)}>
                  {(i) => (
                    <tr>
                      <th scope="row">{i === 0 ? "start" : i}</th>
                      <td class="number">{i === 0 ? "0" : ""}</td>
                      <td class="number">{i === 0 ? "0" : ""}</td>
                      <td class="number" />
                      <td />
                    </tr>
                  )}
                </For>
              </tbody>
            </table>
          </>
        )}
      </Show>
      <p class="screen">
        <button type="button" class="act" disabled={!plan()} onClick={() => window.print()}>
          Print the sheet
        </button>
        <button type="button" class="word" onClick={() => props.close()}>
          Back to the notebook
        </button>
      </p>
    </section>
  );
}
