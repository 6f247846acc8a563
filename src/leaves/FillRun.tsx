import { createMemo, type JSX } from "solid-js";
import { valueIn } from "../answer";
import { useNotebook } from "../notebook/open-notebook";
import { fillRunFigure } from "../pipeline/figures/fill-run";
import type { FillRuns } from "../pipeline/fill-run";
import { withReading, withRuns } from "../pipeline/words/all";
import { fillRunFinding, fillRunWorking } from "../pipeline/words/fill-run";
import { severalRunsPhrases, severalRunsWorking } from "../pipeline/words/several-runs";
import { Plot } from "../ui/Plot";
import { DataIn } from "./DataIn";
import { Leaf } from "./Leaf";

export function FillRunLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  const suspects = () => valueIn(book.answers.suspectSteps());
  const together = () => valueIn(book.answers.severalRuns());
  const answer = createMemo(() =>
    withReading(book.answers.fillRun(), book.answers.fills(), book.answers.severalRuns()),
  );
  const finding = (f: FillRuns) => withRuns(fillRunFinding(f, suspects()), severalRunsPhrases(together()));
  return (
    <Leaf
      number={props.number}
      name="fill-run"
      title="fill run"
      question="Which stretches are steps, and how steady is each?"
      stage="fillRun"
      answer={answer()}
      finding={finding}
      working={(f) => [...fillRunWorking(f), ...severalRunsWorking(together())]}
      blocks={["fillRuns", "fillRunsTogether", "sender", "unusableOffset_L"]}
      always={<DataIn kinds={["fill", "drain"]} />}
    >
      {(f) => <Plot figure={fillRunFigure(f(), suspects())} />}
    </Leaf>
  );
}
