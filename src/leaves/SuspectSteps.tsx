import { For, type JSX, Show } from "solid-js";
import { withUnit } from "../format";
import { useNotebook } from "../notebook/open-notebook";
import { suspectStepsFigure } from "../pipeline/figures/suspect-steps";
import { suspectStepsFinding, suspectStepsWorking } from "../pipeline/words/suspect-steps";
import { Options } from "../ui/fields";
import { Plot } from "../ui/Plot";
import { Leaf } from "./Leaf";

export function SuspectStepsLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  const curve = () => {
    const c = book.answers.curve();
    return c.state === "ready" ? c.value : null;
  };
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
        <For
          each={s.runs.flatMap((r, run) =>
            [...r.events.map((e) => e.step), ...r.steps.filter((t) => t.decidedBy === "technician").map((t) => t.index)]
              .filter((v, i, all) => all.indexOf(v) === i)
              .map((step) => ({ run, step, event: r.events.find((e) => e.step === step) })),
          )}
        >
          {({ run, step, event }) => {
            const chosen = () => book.notebook().choices.steps[`${run}:${step}`];
            const amount = () => event?.amount_L ?? 0;
            const pour = event?.kind === "missed-pour" || event?.kind === "wrong-pour";
            const set = (treat: "keep" | "set-aside" | "put-in") =>
              book.edit({
                edit: "step",
                run,
                step,
                choice: {
                  treat,
                  ...(treat === "put-in" ? { amount_L: -amount() } : {}),
                  reason: event?.says ?? "decided by hand",
                },
              });
            return (
              <Options
                title={`What to do with step ${step}`}
                costs={chosen() ? "yours" : "on trial"}
                options={[
                  ...(pour
                    ? [
                        {
                          label: `Put ${withUnit(-amount(), "L", 2)} in`,
                          cost: "",
                          set: chosen() ? chosen()!.treat === "put-in" : true,
                          take: () => set("put-in"),
                        },
                      ]
                    : []),
                  {
                    label: "Set it aside",
                    cost: "",
                    set: chosen() ? chosen()!.treat === "set-aside" : !pour && event !== undefined,
                    take: () => set("set-aside"),
                  },
                  { label: "Leave it as written", cost: "", set: chosen()?.treat === "keep", take: () => set("keep") },
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
          {(c) => <Show when={suspectStepsFigure(s, c())}>{(f) => <Plot figure={f()} />}</Show>}
        </Show>
      )}
    </Leaf>
  );
}
