import { type JSX, Show } from "solid-js";
import { valueIn } from "../answer";
import { useNotebook } from "../notebook/open-notebook";
import { rowsFigure, tableFigure } from "../pipeline/figures/table";
import { refuseRows } from "../pipeline/words/own-choice";
import { tableFinding, tableWorking } from "../pipeline/words/table";
import { volumeText } from "../pipeline/words/volume";
import { NumberField } from "../ui/fields";
import { Plot } from "../ui/Plot";
import { Leaf } from "./Leaf";
import { readingUnitOf } from "./reading-unit";
import { TypeIn } from "./TypeIn";

export function TableLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  const curve = () => valueIn(book.answers.curve());
  const assumed = () => valueIn(book.answers.job())?.targets.tolerance_L === null;
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
            hint={String(t().recommendedPoints)}
            refuse={refuseRows}
            onChange={(points) =>
              book.edit({ edit: "choose", key: "table", value: { points }, label: "change the number of rows" })
            }
          />
          <p>
            {t().recommendedPoints} are the fewest that stay within a tenth of{" "}
            {assumed() ? "the tolerance assumed" : "your tolerance"} or a quarter of the band, whichever is less.
            Outside its rows the device is taken to hold the end value: check that yours does.
          </p>
          <Show when={t().asWritten}>
            {(w) => (
              <p>
                With the sheet as written there would be {w().rows.length} rows,{" "}
                {volumeText(w().error_L, book.volume())} off that curve.
              </p>
            )}
          </Show>
        </>
      )}
    >
      {(t) => (
        <>
          <TypeIn table={t()} />
          <Show when={curve()}>{(c) => <Plot figure={tableFigure(t(), c(), book.volume())} />}</Show>
          <Plot figure={rowsFigure(t())} />
        </>
      )}
    </Leaf>
  );
}
