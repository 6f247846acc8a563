/** The sheet: running line, head, all leaves in reading order, the card. */
import { createSignal, For, type JSX, Show } from "solid-js";
import { Dynamic } from "solid-js/web";
import { BringAnywhere } from "./BringAnywhere";
import { Card } from "./Card";
import { Head } from "./Head";
import { leaves } from "./index";
import { LooseNotes } from "./LooseNotes";
import { PourSheet } from "./PourSheet";
import { Running } from "./Running";
import { StandsOn } from "./StandsOn";

export function Sheet(): JSX.Element {
  const [planning, setPlanning] = createSignal(false);
  return (
    <div class="page">
      <Running toPourSheet={() => setPlanning(true)} />
      <BringAnywhere />
      <Show when={!planning()} fallback={<PourSheet close={() => setPlanning(false)} />}>
        <main id="sheet">
          <Head toPourSheet={() => setPlanning(true)} />
          <For each={leaves}>
            {(leaf, i) => (
              <>
                <Dynamic component={leaf.component} number={i() + 1} />
                <LooseNotes after={leaf.name} title={leaf.title} />
              </>
            )}
          </For>
          <StandsOn />
          <div class="sign">
            <span>Technician</span>
            <span>Customer</span>
            <span>Date</span>
          </div>
        </main>
        <div class="card-place">
          <Card />
        </div>
      </Show>
    </div>
  );
}
