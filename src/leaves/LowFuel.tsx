import { type JSX, Show } from "solid-js";
import { valueIn } from "../answer";
import { setText } from "../format";
import { useNotebook } from "../notebook/open-notebook";
import { lowFuelFigure } from "../pipeline/figures/low-fuel";
import { lowFuelFinding, lowFuelWorking, shownOver_L } from "../pipeline/words/low-fuel";
import { refuseWarning, warningTakenAs } from "../pipeline/words/own-choice";
import { inVolume } from "../pipeline/words/volume";
import { NumberField } from "../ui/fields";
import { Plot } from "../ui/Plot";
import { litresPer } from "../units";
import { Leaf } from "./Leaf";

export function LowFuelLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  /** Usable volume of the full tank, in the unit of the field. */
  const most = () => {
    const job = valueIn(book.answers.job());
    const capacity_L = job?.tank.capacity_L ?? null;
    return job && capacity_L !== null ? (capacity_L - (job.tank.unusable_L ?? 0)) / book.volume().litres : null;
  };
  /** What hand-over and card say instead, where the device has no step at the number of one's own. */
  const taken = () => {
    const job = valueIn(book.answers.job());
    const settings = valueIn(book.answers.settings());
    const line = settings?.lines.find((s) => s.path === "settings.warning.at");
    const per =
      job && litresPer(job.device.displayUnit, { density_kg_per_L: null, capacity_L: job.tank.capacity_L ?? null });
    if (!settings?.warning || !line || !per || book.stale("settings")) return null;
    return warningTakenAs(
      book.notebook().choices.lowFuel.warnAtUsable_L,
      settings.warning.at * per - shownOver_L(job),
      `${line.digits}\u00a0${line.unit}`,
    );
  };
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
            taken={taken()}
            refuse={refuseWarning(most(), book.volume().sign)}
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
