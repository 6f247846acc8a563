import type { JSX } from "solid-js";
import { valueIn } from "../answer";
import { useNotebook } from "../notebook/open-notebook";
import { verdictFigure } from "../pipeline/figures/verdict";
import { verdictFinding, verdictWorking } from "../pipeline/words/verdict";
import { Plot } from "../ui/Plot";
import { Leaf } from "./Leaf";

export function VerdictLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  const assumed = () => valueIn(book.answers.job())?.targets.tolerance_L === null;
  return (
    <Leaf
      number={props.number}
      name="verdict"
      title="verdict"
      question="Is it good enough, and how sure are we?"
      stage="verdict"
      answer={book.answers.verdict()}
      finding={(v) => verdictFinding(v, assumed())}
      working={verdictWorking}
      blocks={["verdict"]}
    >
      {(v) => <Plot figure={verdictFigure(v(), book.volume(), assumed())} />}
    </Leaf>
  );
}
