/** Words of lines for the interactive plotter. */
import type { Figure, LineSeries, Panel } from "./figure";
import { spread, widthOf } from "./labels";
import { axisNames, type ColourOf, type Plain, plain } from "./near-parts";

/** The word of a line where the eye finds it: beyond the frame if the line runs to its right edge, else at the last point that is seen. */
export function lineWords(
  panel: Panel,
  k: number,
  figure: Figure,
  rangeX: [number, number],
  rangeY: [number, number],
  colour: ColourOf,
): Plain[] {
  const { xaxis: xref, yaxis: yref } = axisNames(k);
  // Words stand on a log axis by the exponent, lines by the value.
  const toX = (v: number) => (figure.x.scale === "log" ? Math.log10(v) : v);
  const toY = (v: number) => (panel.y.scale === "log" ? Math.log10(v) : v);
  const inside = (v: number, [low, high]: [number, number]) => v >= low && v <= high;
  const found = panel.series.flatMap((s) => {
    if (s.kind !== "line" || s.label === null) return [];
    const seen = s.x
      .map((x, i) => ({ x: toX(x), y: toY(s.y[i]!) }))
      .filter((p) => inside(p.x, rangeX) && inside(p.y, rangeY));
    if (seen.length === 0) return [];
    return [{ s, ...seen.reduce((a, b) => (b.x >= a.x ? b : a)) }];
  });
  const edge = rangeX[1] - 0.06 * (rangeX[1] - rangeX[0]);
  const beyond = found.filter((f) => f.x >= edge);
  const span = rangeY[1] - rangeY[0];
  const apart = spread(
    beyond.map((f) => (340 * panel.share * (rangeY[1] - f.y)) / span),
    16,
    8,
    // Not at the very edge: what lies outside by the last bit of a sum is not drawn.
    340 * panel.share - 6,
  );
  const word = (s: LineSeries, at: Plain): Plain => ({
    xref,
    yref,
    text: plain(s.label!),
    font: { color: colour(s.role) },
    showarrow: false,
    xanchor: "left",
    ...at,
  });
  return [
    ...beyond.map((f, i) =>
      word(f.s, { xref: "paper", x: 1, xshift: 4, y: rangeY[1] - (apart[i]! * span) / (340 * panel.share) }),
    ),
    ...raised(
      found.filter((f) => f.x < edge),
      (f) => ({
        left: (500 * (f.x - rangeX[0])) / (rangeX[1] - rangeX[0]),
        low: (340 * panel.share * (f.y - rangeY[0])) / span,
        width: widthOf(f.s.label!, 13),
      }),
    ).map(({ item: f, by }) =>
      word(f.s, { x: f.x, y: f.y, yanchor: "bottom", xshift: 4, yshift: by, bgcolor: colour("paper") }),
    ),
  ];
}

/** Words that would lie on one another are raised by a line each, in reading order. */
function raised<T>(
  items: T[],
  placeOf: (item: T) => { left: number; low: number; width: number },
): { item: T; by: number }[] {
  const taken: { left: number; right: number; low: number }[] = [];
  return [...items]
    .map((item) => ({ item, ...placeOf(item) }))
    .sort((a, b) => a.left - b.left)
    .map(({ item, left, low, width }) => {
      let by = 0;
      while (taken.some((t) => left < t.right + 6 && t.left < left + width + 6 && Math.abs(t.low - low - by) < 16))
        by += 16;
      taken.push({ left, right: left + width, low: low + by });
      return { item, by };
    });
}
