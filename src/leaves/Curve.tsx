import { createSignal, Index, type JSX, Show } from "solid-js";
import { valueIn } from "../answer";
import { useNotebook } from "../notebook/open-notebook";
import { curveFigure } from "../pipeline/figures/curve";
import { hasResidualFigures, residualFigures } from "../pipeline/figures/residuals";
import { spanOf } from "../pipeline/words/all";
import { bandsBeside, curveFinding, curveWorking } from "../pipeline/words/curve";
import { unitSign } from "../pipeline/words/quantity";
import { volumeText } from "../pipeline/words/volume";
import { Options } from "../ui/fields";
import { Plot } from "../ui/Plot";
import { Leaf } from "./Leaf";
import { PiecesOfYourOwn } from "./PiecesOfYourOwn";

const names = {
  smooth: "Smooth",
  piecewise: "Straight pieces",
  divider: "Line through the divider",
  polynomial: "One bent line",
  line: "One straight line",
} as const;

export function CurveLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  const suspects = () => valueIn(book.answers.suspectSteps());
  /** Drawn only once somebody looks: three more figures at each change would keep the page from answering. */
  const [closely, setClosely] = createSignal(false);
  return (
    <Leaf
      number={props.number}
      name="curve"
      title="curve"
      question="Which volume does a reading mean?"
      stage="curve"
      answer={book.answers.curve()}
      finding={(c) => curveFinding(c, ...spanOf(c))}
      working={curveWorking}
      blocks={["curves", "chosenCurve", "residuals", "band", "serviceBand"]}
      margin={(c) => (
        <>
          <Options
            title="Shape"
            costs="worst step"
            options={(Object.keys(names) as (keyof typeof names)[]).flatMap((shape) => {
              const fits = c().candidates.filter((f) => f.kind === shape);
              if (shape !== "smooth" && fits.length === 0) return [];
              const worst =
                shape === "smooth"
                  ? c().shape === "smooth"
                    ? c().overall.worst_L
                    : null
                  : fits.reduce((a, b) => (b.aicc < a.aicc ? b : a)).worst_L;
              return [
                {
                  label: names[shape],
                  cost: worst === null ? "" : volumeText(worst, book.volume()),
                  set: c().shape === shape,
                  take: () =>
                    book.edit({
                      edit: "choose",
                      key: "curve",
                      // Pieces of one's own would stand before any other shape.
                      value: { shape: shape === "smooth" ? null : shape, knots: null },
                      label: `take ${names[shape].toLowerCase()}`,
                    }),
                },
              ];
            })}
          />
          <PiecesOfYourOwn unit={unitSign(c().readingUnit)} />
        </>
      )}
    >
      {(c) => (
        <>
          <Show when={suspects()}>{(s) => <Plot figure={curveFigure(c(), s(), book.volume())} />}</Show>
          <Show when={hasResidualFigures(c())}>
            <details onToggle={(e) => setClosely(e.currentTarget.open)}>
              <summary>
                <b>Look at what is left over</b> by order, by volume, against a bell curve
              </summary>
              <Show when={closely()}>
                <Index each={residualFigures(c())}>{(figure) => <Plot figure={figure()} />}</Index>
              </Show>
            </details>
          </Show>
          <Show when={bandsBeside(c(), book.volume())}>
            {(b) => (
              <p class="small">
                With the sheet as written the widest band would be ± {b().asWritten}. Now it is ± {b().now}.
              </p>
            )}
          </Show>
        </>
      )}
    </Leaf>
  );
}
