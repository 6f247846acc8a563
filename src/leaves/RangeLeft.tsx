import type { JSX } from "solid-js";
import { useNotebook } from "../notebook/open-notebook";
import { rangeLeftFigure } from "../pipeline/figures/range-left";
import { rangeLeftFinding, rangeLeftWorking } from "../pipeline/words/range-left";
import { Plot } from "../ui/Plot";
import { goTo } from "./go-to";
import { Leaf } from "./Leaf";
import { MeasuredBurns } from "./MeasuredBurns";

export function RangeLeftLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  const wantsConsumption = () => {
    const answer = book.answers.range();
    return answer.state === "stuck" && answer.issue.code.endsWith("/no-consumption");
  };
  /** A folded job has no fields to go to. */
  const say = () => {
    if (book.notebook().folded.includes("job")) book.edit({ edit: "fold", leaf: "job", folded: false });
    queueMicrotask(() => goTo("job", "Use"));
  };
  return (
    <Leaf
      number={props.number}
      name="range-left"
      title="range left"
      question="How wrong can range left be?"
      stage="range"
      answer={book.answers.range()}
      finding={rangeLeftFinding}
      working={rangeLeftWorking}
      blocks={["rangeLeft"]}
      margin={() => <MeasuredBurns />}
      offer={
        wantsConsumption() ? (
          <>
            <p class="screen">
              <button type="button" class="word" onClick={() => say()}>
                Say how much is burnt
              </button>{" "}
              in the job, under “use”.
            </p>
            <MeasuredBurns />
          </>
        ) : undefined
      }
    >
      {(v) => <Plot figure={rangeLeftFigure(v())} />}
    </Leaf>
  );
}
