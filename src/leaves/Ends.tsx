import { type JSX, Show } from "solid-js";
import { setText } from "../format";
import { useNotebook } from "../notebook/open-notebook";
import { endsFigure } from "../pipeline/figures/ends";
import { endsFinding, endsWorking } from "../pipeline/words/ends";
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
  const choice = () => book.notebook().choices.ends;
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
          margin={(e) => (
            <>
              <NumberField
                label="Margin at empty"
                unit={unitSign(unit())}
                value={choice().emptyMargin}
                hint={setText(e().empty.recommendedMargin, "", 2)}
                onChange={(emptyMargin) =>
                  book.edit({
                    edit: "choose",
                    key: "ends",
                    value: { ...choice(), emptyMargin },
                    label: "change the margin at empty",
                  })
                }
              />
              <NumberField
                label="Margin at full"
                unit={unitSign(unit())}
                value={choice().fullMargin}
                hint={setText(e().full.recommendedMargin, "", 2)}
                onChange={(fullMargin) =>
                  book.edit({
                    edit: "choose",
                    key: "ends",
                    value: { ...choice(), fullMargin },
                    label: "change the margin at full",
                  })
                }
              />
            </>
          )}
        >
          {(e) => <Show when={endsFigure(e(), b().curve, book.volume())}>{(f) => <Plot figure={f()} />}</Show>}
        </Leaf>
      )}
    </Show>
  );
}
