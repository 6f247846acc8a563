import { type JSX, Show } from "solid-js";
import { valueIn } from "../answer";
import { setText } from "../format";
import { useNotebook } from "../notebook/open-notebook";
import { lowFuelFigure } from "../pipeline/figures/low-fuel";
import { lowFuelFinding, lowFuelWorking } from "../pipeline/words/low-fuel";
import { inVolume } from "../pipeline/words/volume";
import { NumberField } from "../ui/fields";
import { Plot } from "../ui/Plot";
import { Leaf } from "./Leaf";

export function LowFuelLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  return (
    <Leaf
      number={props.number}
      name="low-fuel"
      title="low fuel"
      question="When does the light come on?"
      stage="lowFuel"
      answer={book.answers.lowFuel()}
      finding={(l) => lowFuelFinding(l, valueIn(book.answers.job()))}
      working={lowFuelWorking}
      blocks={["lowFuel"]}
      margin={(l) => (
        <>
          <NumberField
            label="Warn at, usable"
            unit={book.volume().sign}
            value={inVolume(book.notebook().choices.lowFuel.warnAtUsable_L, book.volume())}
            hint={setText(l().recommendedWarnAt_L / book.volume().litres, "")}
            onChange={(typed) =>
              book.edit({
                edit: "choose",
                key: "lowFuel",
                value: { warnAtUsable_L: typed === null ? null : typed * book.volume().litres },
                label: "change the warning point",
              })
            }
          />
        </>
      )}
    >
      {(v) => <Show when={lowFuelFigure(v(), book.volume())}>{(f) => <Plot figure={f()} />}</Show>}
    </Leaf>
  );
}
