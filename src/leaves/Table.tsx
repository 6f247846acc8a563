import { For, type JSX, Show } from "solid-js";
import { withUnit } from "../format";
import { useNotebook } from "../notebook/open-notebook";
import { rowsFigure, tableFigure } from "../pipeline/figures/table";
import { tableFinding, tableWorking } from "../pipeline/words/table";
import { NumberField } from "../ui/fields";
import { Plot } from "../ui/Plot";
import { Leaf } from "./Leaf";
import { readingUnitOf } from "./reading-unit";

const unitNames: Record<string, string> = {
  percent: "%",
  USgal: "US gal",
  impgal: "imp gal",
  ohm: "Ω",
  count: "counts",
};

export function TableLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  const curve = () => {
    const c = book.answers.curve();
    return c.state === "ready" ? c.value : null;
  };
  return (
    <Leaf
      number={props.number}
      name="table"
      title="table"
      question="Which numbers go into the device?"
      stage="table"
      answer={book.answers.table()}
      finding={tableFinding}
      working={(t) => tableWorking(t, readingUnitOf(book))}
      blocks={["table", "tableError_L", "tableRms_L", "twoPointError_L", "tableDetail"]}
      margin={(t) => (
        <>
          <NumberField
            label="Rows"
            value={book.notebook().choices.table.points}
            hint={String(t.recommendedPoints)}
            onChange={(points) =>
              book.edit({ edit: "choose", key: "table", value: { points }, label: "change the number of rows" })
            }
          />
          <p>
            The fewest that stay within a quarter of your tolerance are {t.recommendedPoints}. Outside its rows the
            device is taken to hold the end value: check that yours does.
          </p>
          <Show when={t.asWritten}>
            {(w) => (
              <p>
                With the sheet as written there would be {w().rows.length} rows, {withUnit(w().error_L, "L", 2)} off
                that curve.
              </p>
            )}
          </Show>
        </>
      )}
    >
      {(t) => (
        <>
          <div class="scroll" tabindex="0" role="region" aria-label="The rows to type">
            <table class="type-in">
              <tbody>
                <tr>
                  <th scope="row">Reading, {unitNames[t.readingUnit] ?? t.readingUnit}</th>
                  <For each={t.rows}>{(r) => <td class="n">{r.typedReading}</td>}</For>
                </tr>
                <tr>
                  <th scope="row">
                    Volume, {unitNames[t.volumeUnit] ?? t.volumeUnit}{" "}
                    {t.base === "usable" ? "usable" : "since the start"}
                  </th>
                  <For each={t.rows}>{(r) => <td class="n">{r.typedVolume}</td>}</For>
                </tr>
              </tbody>
            </table>
          </div>
          <Show when={curve()}>{(c) => <Plot figure={tableFigure(t, c())} />}</Show>
          <Plot figure={rowsFigure(t)} />
        </>
      )}
    </Leaf>
  );
}
