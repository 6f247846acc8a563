import type { JSX } from "solid-js";
import { useNotebook } from "../notebook/open-notebook";
import { fillRunFigure } from "../pipeline/figures/fill-run";
import { fillRunFinding, fillRunWorking } from "../pipeline/words/fill-run";
import { Plot } from "../ui/Plot";
import { DataIn } from "./DataIn";
import { Leaf } from "./Leaf";

export function FillRunLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  const suspects = () => {
    const s = book.answers.suspectSteps();
    return s.state === "ready" ? s.value : null;
  };
  return (
    <Leaf
      number={props.number}
      name="fill-run"
      title="fill run"
      question="Which stretches are steps, and how steady is each?"
      stage="fillRun"
      answer={book.answers.fillRun()}
      finding={(f) => fillRunFinding(f, suspects())}
      working={fillRunWorking}
      blocks={["fillRuns", "sender", "unusableOffset_L"]}
      always={<DataIn kinds={["fill", "drain"]} />}
    >
      {(f) => <Plot figure={fillRunFigure(f(), suspects())} />}
    </Leaf>
  );
}
