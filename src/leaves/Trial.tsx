import { type JSX, Show } from "solid-js";
import { valueIn } from "../answer";
import { useNotebook } from "../notebook/open-notebook";
import { trialFigure } from "../pipeline/figures/trial";
import { trialFinding, trialWorking } from "../pipeline/words/trial";
import { Plot } from "../ui/Plot";
import { Leaf } from "./Leaf";

export function TrialLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  const job = () => valueIn(book.answers.job());
  const complaint = () => valueIn(book.answers.complaint());
  return (
    <Show when={job()}>
      {(j) => (
        <Leaf
          number={props.number}
          name="trial"
          title="trial"
          question="Would the driver trust this display?"
          stage="trial"
          answer={book.answers.trial()}
          finding={(t) => trialFinding(t, j(), complaint())}
          working={trialWorking}
          blocks={["trial", "complaint"]}
        >
          {(t) => <Show when={trialFigure(t())}>{(f) => <Plot figure={f()} />}</Show>}
        </Leaf>
      )}
    </Show>
  );
}
