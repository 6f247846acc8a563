import { type JSX, Show } from "solid-js";
import { valueIn } from "../answer";
import { setText } from "../format";
import { useNotebook } from "../notebook/open-notebook";
import type { Curve } from "../pipeline/curve-types";
import { endsFigure } from "../pipeline/figures/ends";
import { endsFinding, endsWorking } from "../pipeline/words/ends";
import { refuseMargin } from "../pipeline/words/own-choice";
import { unitSign } from "../pipeline/words/quantity";
import { NumberField } from "../ui/fields";
import { Plot } from "../ui/Plot";
import { Leaf } from "./Leaf";
import { readingUnitOf } from "./reading-unit";

export function EndsLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  const both = () => {
    const c = book.answers.curve();
    const j = book.answers.job();
    return c.state === "ready" && j.state === "ready" ? { curve: c.value, job: j.value } : null;
  };
  const unit = () => readingUnitOf(book);
  return (
    <Show
      when={both()}
      fallback={
        <Leaf
          number={props.number}
          name="ends"
          title="ends"
          question="How much is kept back at each end?"
          stage="ends"
          answer={book.answers.ends()}
          finding={() => ({ question: "", sentence: [], short: [], condition: [], caution: null })}
          blocks={["ends"]}
        />
      }
    >
      {(b) => (
        <Leaf
          number={props.number}
          name="ends"
          title="ends"
          question="How much is kept back at each end?"
          stage="ends"
          answer={book.answers.ends()}
          finding={(e) => endsFinding(e, unit(), b().job)}
          working={(e) => endsWorking(e, unit())}
          blocks={["ends"]}
          own={
            <>
              <MarginField end="empty" travel={travelOf(b().curve)} />
              <MarginField end="full" travel={travelOf(b().curve)} />
            </>
          }
        >
          {(e) => <Show when={endsFigure(e(), b().curve, book.volume())}>{(f) => <Plot figure={f()} />}</Show>}
        </Leaf>
      )}
    </Show>
  );
}

/** Readings between both ends of the curve. */
const travelOf = (curve: Curve): number =>
  Math.abs(curve.grid[curve.grid.length - 1]!.reading - curve.grid[0]!.reading);

/** Stands with and without an answer: margins that leave no travel are made smaller where they were typed. */
function MarginField(props: { end: "empty" | "full"; travel: number }): JSX.Element {
  const book = useNotebook();
  const unit = () => unitSign(readingUnitOf(book));
  const key = () => (props.end === "empty" ? "emptyMargin" : "fullMargin");
  const recommended = () => valueIn(book.answers.ends())?.[props.end].recommendedMargin;
  return (
    <NumberField
      label={`Margin at ${props.end}`}
      unit={unit()}
      value={book.notebook().choices.ends[key()]}
      hint={recommended() === undefined ? "" : setText(recommended()!, "", 2)}
      refuse={refuseMargin(props.travel, unit())}
      onChange={(margin) =>
        book.edit({
          edit: "choose",
          key: "ends",
          value: { ...book.notebook().choices.ends, [key()]: margin },
          label: `change the margin at ${props.end}`,
        })
      }
    />
  );
}
