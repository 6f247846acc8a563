import type { JSX } from "solid-js";
import { useNotebook } from "../notebook/open-notebook";
import { rangeLeftFigure } from "../pipeline/figures/range-left";
import { rangeLeftFinding, rangeLeftWorking } from "../pipeline/words/range-left";
import { Plot } from "../ui/Plot";
import { Leaf } from "./Leaf";
import { MeasuredBurns } from "./MeasuredBurns";

export function RangeLeftLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  const wantsConsumption = () => {
    const answer = book.answers.range();
    return answer.state === "stuck" && answer.issue.code.endsWith("/no-consumption");
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
      offer={wantsConsumption() ? <MeasuredBurns /> : undefined}
    >
      {(v) => <Plot figure={rangeLeftFigure(v())} />}
    </Leaf>
  );
}
