/**
 * Near: the same figure as traces and layout of the interactive plotter. Pure: nothing is loaded or drawn here.
 * What the static drawing shows is here too: marks, labels at steps and lines, domains, the strokes of digit changes.
 */
import { fixed } from "../format";
import { axisWords, domainX, domainY } from "./axes";
import type { Axis, Figure, LineSeries, Mark, Panel, Series } from "./figure";
import { spread, widthOf } from "./labels";

export interface Plain {
  [key: string]: unknown;
}
/** A colour of the page's theme for a role, `region`, `paper`, `ink`, `rule`, `edge` or `band`. */
export type ColourOf = (role: string) => string;

const dashes: Partial<Record<string, string>> = {
  compare: "7px 5px",
  other: "9px 4px",
  floor: "1px 4px",
  truth: "1px 3px",
};
const symbols: Record<string, string> = {
  accepted: "circle",
  suspect: "diamond-open",
  "set-aside": "x-thin-open",
  chosen: "star",
  written: "line-ew-open",
  plain: "circle-open",
};

/** The plotter reads a few HTML tags in its words: a word from outside stays a word. */
const plain = (text: string): string => text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;");

const axisNames = (k: number) => ({ xaxis: "x", yaxis: k === 0 ? "y" : `y${k + 1}` });

/** Traces of one series on panel `k` (0 the first); `row` is the level of a rug, counted down from 0. */
export function tracesOf(series: Series, k: number, colour: ColourOf, row = 0): Plain[] {
  const axes = axisNames(k);
  switch (series.kind) {
    case "line":
      return [
        {
          ...axes,
          type: "scatter",
          mode: "lines",
          name: plain(series.name),
          x: series.x,
          y: series.y,
          line: {
            color: colour(series.role),
            width: series.role === "raw" ? 0.8 : 2,
            dash: dashes[series.role] ?? "solid",
            shape: series.stepped ? "hv" : "linear",
          },
        },
      ];
    case "points":
      return [
        {
          ...axes,
          type: "scatter",
          mode: series.labels?.some((l) => l) ? "markers+text" : "markers",
          name: plain(series.name),
          x: series.x,
          y: series.y,
          text: series.labels?.map((l) => plain(l ?? "")),
          textposition: "bottom right",
          cliponaxis: false,
          marker: {
            color: colour(series.role),
            symbol: symbols[series.role] ?? "circle",
            size: series.role === "suspect" ? 13 : 9,
            line: { width: 2, color: colour(series.role) },
          },
          ...(series.lower && series.upper
            ? {
                error_y: {
                  type: "data",
                  symmetric: false,
                  array: series.upper.map((u, i) => u - series.y[i]!),
                  arrayminus: series.lower.map((l, i) => series.y[i]! - l),
                  color: colour(series.role),
                  thickness: 1.5,
                  width: 0,
                },
              }
            : {}),
        },
      ];
    case "band":
      return [
        {
          ...axes,
          type: "scatter",
          mode: "lines",
          x: series.x,
          y: series.lower,
          line: { width: 0 },
          hoverinfo: "skip",
          showlegend: false,
        },
        {
          ...axes,
          type: "scatter",
          mode: "lines",
          name: plain(series.name),
          x: series.x,
          y: series.upper,
          line: { width: 0 },
          fill: "tonexty",
          fillcolor: colour("band"),
          hoverinfo: "skip",
        },
      ];
    case "rug":
      return [
        {
          ...axes,
          type: "scatter",
          mode: "markers",
          name: plain(series.label),
          x: series.x,
          y: series.x.map(() => -row),
          marker: { symbol: "line-ns-open", size: 12, color: colour(series.role) },
        },
      ];
  }
}

/** One mark: the lines that it draws, and its words. */
export function markOf(mark: Mark, k: number, colour: ColourOf): { traces: Plain[]; shapes: Plain[]; words: Plain[] } {
  const { xaxis: xref, yaxis: yref } = axisNames(k);
  const word = (at: Plain): Plain[] =>
    mark.text === "" ? [] : [{ xref, yref, text: plain(mark.text), showarrow: false, bgcolor: colour("paper"), ...at }];
  const role = "role" in mark ? mark.role : "shown";
  const line = { color: colour(role), width: 1.5, dash: dashes[role] ?? "solid" };
  switch (mark.kind) {
    case "gap":
    case "gap-x": {
      const upright = mark.kind === "gap";
      const ends = [mark.from, mark.to];
      const middle = (mark.from + mark.to) / 2;
      return {
        traces: [
          {
            ...axisNames(k),
            type: "scatter",
            mode: "lines+markers",
            name: plain(mark.text),
            x: upright ? [mark.x, mark.x] : ends,
            y: upright ? ends : [mark.y, mark.y],
            line: { color: colour("shown"), width: 1.1 },
            marker: {
              symbol: upright ? "line-ew-open" : "line-ns-open",
              size: 10,
              color: colour("shown"),
              line: { width: 1.1, color: colour("shown") },
            },
            hoverinfo: "name",
          },
        ],
        shapes: [],
        words: word(
          upright
            ? { x: mark.x, y: middle, xanchor: "left", xshift: 6 }
            : { x: middle, y: mark.y, yanchor: "bottom", yshift: 2 },
        ),
      };
    }
    case "vertical":
      return {
        traces: [],
        shapes: [{ type: "line", xref, yref: `${yref} domain`, x0: mark.x, x1: mark.x, y0: 0, y1: 1, line }],
        words: word({ x: mark.x, y: 1, yref: `${yref} domain`, xanchor: "left", yanchor: "top", xshift: 4 }),
      };
    case "horizontal":
      return {
        traces: [],
        shapes: [{ type: "line", xref: `${xref} domain`, yref, x0: 0, x1: 1, y0: mark.y, y1: mark.y, line }],
        words: word({ x: 0, xref: `${xref} domain`, y: mark.y, xanchor: "left", yanchor: "bottom", xshift: 6 }),
      };
    case "region":
      return {
        traces: [],
        shapes: [
          {
            type: "rect",
            layer: "below",
            xref,
            yref: `${yref} domain`,
            x0: mark.from,
            x1: mark.to,
            y0: 0,
            y1: 1,
            fillcolor: colour("region"),
            line: { width: 0 },
          },
        ],
        words: word({ x: (mark.from + mark.to) / 2, y: 1, yref: `${yref} domain`, yanchor: "top" }),
      };
    case "text":
      return { traces: [], shapes: [], words: word({ x: mark.x, y: mark.y, xanchor: "left", yanchor: "top" }) };
  }
}

/** The word of a line where the eye finds it: beyond the frame if the line runs to its right edge, else at the last point that is seen. */
function lineWords(
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

/** Ticks of a log axis as they are said, where the plotter would write single small digits between two decades. */
function logTicks([low, high]: [number, number]): Plain {
  const steps = high - low <= 2.5 ? [1, 2, 5] : high - low <= 4.5 ? [1, 3] : [1];
  const values: number[] = [];
  // Two decades more on either side: the figure can be moved.
  for (let e = Math.floor(low) - 2; e <= Math.ceil(high) + 2; e++) for (const s of steps) values.push(s * 10 ** e);
  return {
    tickmode: "array",
    tickvals: values,
    ticktext: values.map((v) => fixed(v, Math.max(0, -Math.floor(Math.log10(v) + 1e-9)))),
  };
}

const onlyRugs = (panel: Panel): boolean => panel.series.length > 0 && panel.series.every((s) => s.kind === "rug");
const bare = (panel: Panel): boolean => panel.series.length === 0 && panel.y.label === "" && panel.y.unit === "";

const rangeOf = (axis: Axis, [low, high]: [number, number]): [number, number] =>
  axis.scale === "log" ? [Math.log10(low), Math.log10(high)] : [low, high];

/** Words and lines of a mark in values; on a log axis the plotter wants words and shapes by the exponent. */
function onAxes(part: Plain, figure: Figure, panel: Panel): Plain {
  const log = (ref: unknown, axis: Axis, value: unknown) =>
    axis.scale === "log" && typeof value === "number" && !String(ref).endsWith("domain") ? Math.log10(value) : value;
  const out = { ...part };
  for (const key of ["x"]) if (key in out) out[key] = log(out.xref, figure.x, out[key]);
  for (const key of ["y"]) if (key in out) out[key] = log(out.yref, panel.y, out[key]);
  return out;
}

/** Traces, layout, and the ranges that show the whole figure again. */
export function nearOf(
  figure: Figure,
  colour: ColourOf,
  face: string,
): { traces: Plain[]; layout: Plain; whole: Plain } {
  const shares = figure.panels.reduce((s, p) => s + p.share, 0) || 1;
  const traces: Plain[] = [];
  const shapes: Plain[] = [];
  const words: Plain[] = [];
  const rangeX = rangeOf(figure.x, domainX(figure));
  const whole: Plain = { "xaxis.range": rangeX };
  const axis = (label: string, unit: string, scale: string): Plain => ({
    title: { text: plain(unit && label ? `${label}, ${unit}` : label || unit) },
    type: scale,
    gridcolor: colour("rule"),
    linecolor: colour("edge"),
    zeroline: false,
  });
  const layout: Plain = {
    paper_bgcolor: "transparent",
    plot_bgcolor: "transparent",
    font: { family: face, size: 13, color: colour("ink") },
    showlegend: false,
    hovermode: "closest",
    // What was looked at closely stays in sight when the figure is computed anew.
    uirevision: figure.id,
    xaxis: {
      ...axis(figure.x.label, figure.x.unit, figure.x.scale),
      // A copy: the plotter writes into the range that it is given.
      range: [...rangeX],
      ...(figure.x.scale === "log" ? logTicks(rangeX) : {}),
      anchor: figure.panels.length > 1 ? `y${figure.panels.length}` : "y",
    },
  };
  let top = 1;
  let right = 16;
  figure.panels.forEach((panel, k) => {
    const height = panel.share / shares;
    const rugs = panel.series.filter((s) => s.kind === "rug");
    const rangeY: [number, number] = onlyRugs(panel) ? [0.6 - rugs.length, 0.6] : rangeOf(panel.y, domainY(panel));
    const name = k === 0 ? "yaxis" : `yaxis${k + 1}`;
    whole[`${name}.range`] = rangeY;
    layout[name] = {
      ...axis("", "", panel.y.scale),
      range: [...rangeY],
      ...(panel.y.scale === "log" && !onlyRugs(panel) ? logTicks(rangeY) : {}),
      domain: [Math.max(0, top - height + 0.09), top],
      ...(onlyRugs(panel)
        ? { tickvals: rugs.map((_, i) => -i), ticktext: rugs.map((r) => plain(r.label)), showgrid: false }
        : {}),
      ...(bare(panel) ? { showticklabels: false, showgrid: false } : {}),
      automargin: true,
    };
    let uprights = 0;
    for (const mark of panel.marks) {
      const drawn = markOf(mark, k, colour);
      // One under the other: uprights may stand closer than their words are long.
      if (mark.kind === "vertical") for (const w of drawn.words) w.yshift = -17 * uprights++;
      traces.push(...drawn.traces);
      shapes.push(...drawn.shapes);
      words.push(...drawn.words.map((w) => onAxes(w, figure, panel)));
    }
    for (const s of panel.series) {
      traces.push(...tracesOf(s, k, colour, rugs.indexOf(s as never)));
    }
    const named = lineWords(panel, k, figure, rangeX, rangeY, colour);
    words.push(...named);
    for (const w of named) if (w.xref === "paper") right = Math.max(right, 12 + widthOf(w.text as string, 13));
    // Words stand over their panel: turned on end beside a low one they would run into the next.
    if (axisWords(panel.y) !== "")
      words.push({
        text: plain(axisWords(panel.y)),
        xref: "paper",
        yref: "paper",
        x: 0,
        y: top,
        xanchor: "left",
        yanchor: "bottom",
        showarrow: false,
      });
    top -= height;
  });
  return {
    traces,
    layout: { ...layout, shapes, annotations: words, margin: { l: 52, r: right, t: 26, b: 52 } },
    whole,
  };
}
