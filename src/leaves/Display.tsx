import { type JSX, Show } from "solid-js";
import { setText, tied } from "../format";
import { useNotebook } from "../notebook/open-notebook";
import { displayFigure, displayPicks } from "../pipeline/figures/display";
import { displayFinding, displayWorking, slowerThanNeeded } from "../pipeline/words/display";
import { refuseSmoothing, takenAs } from "../pipeline/words/own-choice";
import { volumeSetText } from "../pipeline/words/volume";
import { NumberField, Options } from "../ui/fields";
import { Plot } from "../ui/Plot";
import { Leaf } from "./Leaf";

export function DisplayLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  const job = () => {
    const j = book.answers.job();
    return j.state === "ready" ? j.value : null;
  };
  const cautions = () => {
    const answer = book.answers.display();
    return answer.state === "ready" ? answer.cautions : [];
  };
  const choice = () => book.notebook().choices.display;
  const take = (value: { timeConstant_s: number | null; deadband_L: number | null }, label: string) =>
    book.edit({ edit: "choose", key: "display", value, label });
  return (
    <Show when={job()}>
      {(j) => (
        <Leaf
          number={props.number}
          name="display"
          title="display"
          question="What holds the reading still, and at what delay?"
          stage="display"
          answer={book.answers.display()}
          finding={(d) => displayFinding(d, j())}
          working={displayWorking}
          blocks={["display"]}
          margin={(d) => (
            <>
              <Options
                title="Deadband"
                costs="needs at least"
                options={d().options.map((o) => ({
                  label: o.deadband_L === 0 ? "None" : volumeSetText(o.deadband_L, book.volume(), 2),
                  cost:
                    o.timeConstant_s !== null
                      ? setText(o.timeConstant_s, "s", 2)
                      : d().tooShort
                        ? "not to be told"
                        : "beyond its range",
                  set: o.deadband_L === d().deadband_L,
                  take: () =>
                    take(
                      { deadband_L: o.deadband_L, timeConstant_s: o.timeConstant_s ?? d().timeConstant_s },
                      `take a deadband of ${volumeSetText(o.deadband_L, book.volume(), 2)}`,
                    ),
                }))}
              />
              <Show when={slowerThanNeeded(d(), cautions())}>{(why) => <p class="screen">{tied(why())}</p>}</Show>
              <NumberField
                label="Smoothing of your own"
                unit="s"
                value={choice().timeConstant_s}
                hint={d().tooShort ? "" : setText(d().recommended.timeConstant_s, "")}
                refuse={refuseSmoothing}
                taken={takenAs(choice().timeConstant_s, d().timeConstant_s, "s")}
                onChange={(timeConstant_s) => take({ ...choice(), timeConstant_s }, "change the smoothing")}
              />
            </>
          )}
        >
          {(d) => (
            <Show when={displayFigure(d(), j(), book.volume())}>
              {(f) => (
                <Plot
                  figure={f()}
                  pickHint="Press a line to take its deadband and the smoothing there."
                  onPick={(at) => {
                    const p = displayPicks(d())[at];
                    if (p)
                      take(
                        { timeConstant_s: p.timeConstant_s, deadband_L: p.deadband_L },
                        `take ${setText(p.timeConstant_s, "s")} and a deadband of ${volumeSetText(p.deadband_L, book.volume(), 2)}`,
                      );
                  }}
                />
              )}
            </Show>
          )}
        </Leaf>
      )}
    </Show>
  );
}
