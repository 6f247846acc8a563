import { For, type JSX } from "solid-js";
import { useNotebook } from "../notebook/open-notebook";
import { circuitFigures } from "../pipeline/figures/circuit";
import { circuitFinding, circuitWorking } from "../pipeline/words/circuit";
import { unitSign } from "../pipeline/words/quantity";
import { Plot } from "../ui/Plot";
import { CircuitPair } from "./CircuitPair";
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
      always={<CircuitPair unit={unitSign(readingUnitOf(book))} />}
    >
      {(v) => <For each={circuitFigures(v(), book.volume())}>{(figure) => <Plot figure={figure} />}</For>}
    </Leaf>
  );
}
