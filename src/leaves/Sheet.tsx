/** The sheet: running line, head, all leaves in reading order, the card. */
import { createSignal, For, type JSX, Show } from "solid-js";
import { Dynamic } from "solid-js/web";
import { Announce } from "./Announce";
import { BringAnywhere } from "./BringAnywhere";
import { Card } from "./Card";
import { Head } from "./Head";
import { leaves } from "./index";
import { LooseNotes } from "./LooseNotes";
import { PourSheet } from "./PourSheet";
import { Running } from "./Running";
import { StandsOn } from "./StandsOn";

function OneLeaf(props: { leaf: (typeof leaves)[number]; number: number }): JSX.Element {
  return (
    <>
      <Dynamic component={props.leaf.component} number={props.number} />
      <LooseNotes after={props.leaf.name} title={props.leaf.title} />
    </>
  );
}

export function Sheet(): JSX.Element {
  const [planning, setPlanning] = createSignal(false);
  return (
    <div class="page">
      <Running toPourSheet={() => setPlanning(true)} />
      <Announce />
      <BringAnywhere />
      <Show when={!planning()} fallback={<PourSheet close={() => setPlanning(false)} />}>
        <main id="sheet">
          <Head toPourSheet={() => setPlanning(true)} />
          <For each={leaves.slice(0, -1)}>{(leaf, i) => <OneLeaf leaf={leaf} number={i() + 1} />}</For>
          {/* The settings, what they stand on and the signatures are one sheet to hand over. */}
          <div class="last-sheet">
            <OneLeaf leaf={leaves.at(-1)!} number={leaves.length} />
            <StandsOn />
            <div class="signatures">
              <span>Technician</span>
              <span>Customer</span>
              <span>Date</span>
            </div>
          </div>
        </main>
        <div class="card-place">
          <Card />
        </div>
      </Show>
    </div>
  );
}
