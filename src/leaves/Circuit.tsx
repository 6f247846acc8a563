import { type JSX, Show } from "solid-js";
import { useNotebook } from "../notebook/open-notebook";
import { circuitFigure } from "../pipeline/figures/circuit";
import { circuitFinding, circuitWorking } from "../pipeline/words/circuit";
import { Plot } from "../ui/Plot";
import { Leaf } from "./Leaf";
import { readingUnitOf } from "./reading-unit";

export function CircuitLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  return (
    <Leaf
      number={props.number}
      name="circuit"
      title="circuit"
      question="Does the circuit show the whole travel?"
      stage="circuit"
      answer={book.answers.circuit()}
      finding={circuitFinding}
      working={(c) => circuitWorking(c, readingUnitOf(book))}
      blocks={["circuit"]}
    >
      {(v) => <Show when={circuitFigure(v())}>{(f) => <Plot figure={f()} />}</Show>}
    </Leaf>
  );
}
