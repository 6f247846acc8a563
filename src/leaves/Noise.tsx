import { type JSX, Show } from "solid-js";
import { useNotebook } from "../notebook/open-notebook";
import { noiseByLevelFigure, noiseFigure } from "../pipeline/figures/noise";
import { noiseFinding, noiseWorking } from "../pipeline/words/noise";
import { Plot } from "../ui/Plot";
import { Leaf } from "./Leaf";
import { readingUnitOf } from "./reading-unit";

export function NoiseLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  return (
    <Leaf
      number={props.number}
      name="noise"
      title="slosh"
      question="How large and how slow is the slosh?"
      stage="noise"
      answer={book.answers.noise()}
      finding={noiseFinding}
      working={(n) => noiseWorking(n, readingUnitOf(book))}
      blocks={["noise"]}
    >
      {(n) => {
        const spectrum = () => noiseFigure(n(), readingUnitOf(book));
        const byLevel = () => noiseByLevelFigure(n(), readingUnitOf(book), book.volume());
        const both = () => spectrum() !== null && byLevel() !== null;
        return (
          <div classList={{ "beside-on-paper": both() }}>
            <Show when={spectrum()}>{(f) => <Plot figure={f()} beside={both()} />}</Show>
            <Show when={byLevel()}>{(f) => <Plot figure={f()} beside={both()} />}</Show>
          </div>
        );
      }}
    </Leaf>
  );
}
