import { createMemo, For, type JSX, Show } from "solid-js";
import { valueIn } from "../answer";
import { useNotebook } from "../notebook/open-notebook";
import { suspectStepsFigure } from "../pipeline/figures/suspect-steps";
import { amountWord } from "../pipeline/sheet-words";
import type { FaultEvent, SuspectSteps } from "../pipeline/suspect-steps";
import { suspectStepsFinding, suspectStepsWorking } from "../pipeline/words/suspect-steps";
import { volumeText } from "../pipeline/words/volume";
import type { VolumeWords } from "../quantity";
import { saidIn } from "../said";
import { Options } from "../ui/fields";
import { Plot } from "../ui/Plot";
import { Leaf } from "./Leaf";

/** Steps that stand in doubt or were decided by hand, as `<run>:<step>`, each once. */
const openSteps = (s: SuspectSteps): string[] => [
  ...new Set(
    s.runs.flatMap((r, run) =>
      [...r.events.map((e) => e.step), ...r.steps.filter((t) => t.decidedBy === "technician").map((t) => t.index)].map(
        (step) => `${run}:${step}`,
      ),
    ),
  ),
];

/** Where several runs stand beside each other each has a step 7: it is said of which. */
const stepName = ({ runs }: SuspectSteps, run: number, step: number): string => {
  if (runs.length === 1) return `step ${step}`;
  const own = runs[run]!;
  const alike = runs.filter((r) => r.direction === own.direction).length > 1;
  return alike || step === 0 ? `step ${step} of ${own.file}` : `${amountWord(own)} ${step}`;
};

const putInLabel = (amount_L: number, direction: "fill" | "drain", volume: VolumeWords) => {
  const amount = volumeText(Math.abs(amount_L), volume);
  if (direction === "drain") return amount_L < 0 ? `Count ${amount} less drawn` : `Count ${amount} more drawn`;
  return amount_L < 0 ? `Take ${amount} off` : `Put ${amount} in`;
};

export function SuspectStepsLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  const curve = () => valueIn(book.answers.curve());
  return (
    <Leaf
      number={props.number}
      name="suspect-steps"
      title="odd steps"
      question="Which steps do not belong, and what changes without them?"
      stage="suspectSteps"
      answer={book.answers.suspectSteps()}
      finding={suspectStepsFinding}
      working={suspectStepsWorking}
      blocks={["decisionsNotConfirmed"]}
      margin={(s) => (
        // By name, so that a decision made from the keyboard keeps the focus where it was made.
        <For each={openSteps(s())}>
          {(name) => {
            const [run, step] = name.split(":").map(Number) as [number, number];
            // Once it is decided the weighing raises it no more: what it raised before stays on offer.
            const event = createMemo<FaultEvent | undefined>(
              (before) => s().runs[run]?.events.find((e) => e.step === step) ?? before,
            );
            const chosen = () => book.notebook().choices.steps[`${run}:${step}`];
            const amount_L = () => chosen()?.amount_L ?? -(event()?.amount_L ?? 0);
            const pour = () =>
              event()?.kind === "missed-pour" || event()?.kind === "wrong-pour" || chosen()?.treat === "put-in";
            const set = (treat: "keep" | "set-aside" | "put-in") =>
              book.edit({
                edit: "step",
                run,
                step,
                choice: {
                  treat,
                  ...(treat === "put-in" ? { amount_L: amount_L() } : {}),
                  reason: saidIn(event()?.says ?? "decided by hand", book.volume()),
                },
                ...(treat === "put-in" && book.volume().litres !== 1
                  ? { amount: volumeText(Math.abs(amount_L()), book.volume()) }
                  : {}),
              });
            return (
              <Options
                title={`What to do with ${stepName(s(), run, step)}`}
                costs={chosen() ? "yours" : event()?.treatment === "left" ? "in doubt" : "on trial"}
                options={[
                  ...(pour()
                    ? [
                        {
                          label: putInLabel(amount_L(), s().runs[run]!.direction, book.volume()),
                          cost: "",
                          set: chosen() ? chosen()!.treat === "put-in" : event()?.treatment === "put-in",
                          take: () => set("put-in"),
                        },
                      ]
                    : []),
                  {
                    label: "Set it aside",
                    cost: "",
                    set: chosen() ? chosen()!.treat === "set-aside" : event()?.treatment === "set-aside",
                    take: () => set("set-aside"),
                  },
                  {
                    label: "Leave it as written",
                    cost: "",
                    set: chosen() ? chosen()!.treat === "keep" : event()?.treatment === "left",
                    take: () => set("keep"),
                  },
                  ...(chosen()
                    ? [
                        {
                          label: "Leave it to the rule",
                          cost: "",
                          set: false,
                          take: () => book.edit({ edit: "step", run, step, choice: null }),
                        },
                      ]
                    : []),
                ]}
              />
            );
          }}
        </For>
      )}
    >
      {(s) => (
        <Show when={curve()}>
          {(c) => <Show when={suspectStepsFigure(s(), c(), book.volume())}>{(f) => <Plot figure={f()} />}</Show>}
        </Show>
      )}
    </Leaf>
  );
}
