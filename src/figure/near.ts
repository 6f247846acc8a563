/**
 * Near: the same figure as traces and layout of the interactive plotter. Pure: nothing is loaded or drawn here.
 * What the static drawing shows is here too: marks, labels at steps and lines, domains, the strokes of digit changes.
 */
import { fixed } from "../format";
import { axisWords, domainX, domainY } from "./axes";
import type { Axis, Figure, Panel } from "./figure";
import { widthOf } from "./labels";
import { markOf } from "./near-marks";
import { type ColourOf, type Plain, plain } from "./near-parts";
import { tracesOf } from "./near-series";
import { lineWords } from "./near-words";

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

/** Words beside a mark in the right part of the frame stand on its left: beyond the frame there is no room, and they would be cut off. */
const leftmostTurned = 0.6;
function turned(word: Plain, [low, high]: [number, number]): Plain {
  const beside = word.xanchor === "left" && /^x\d*$/.test(String(word.xref)) && typeof word.x === "number";
  if (!beside || ((word.x as number) - low) / (high - low) < leftmostTurned) return word;
  return { ...word, xanchor: "right", xshift: -((word.xshift as number | undefined) ?? 0) };
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
      words.push(...drawn.words.map((w) => turned(onAxes(w, figure, panel), rangeX)));
    }
    for (const s of panel.series) {
      const like = panel.series.filter(
        (o) => o.kind === s.kind && (s.kind === "rug" || s.kind === "band" || ("role" in o && o.role === s.role)),
      );
      traces.push(...tracesOf(s, k, colour, like.indexOf(s)));
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
