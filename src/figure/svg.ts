/**
 * SVG: draws a figure once, anew for each width, as text. The same drawing serves page, print, report and command line.
 * Colours are classes of `figureCss`, so that dark paper and print need no second drawing.
 */
import { area, curveStepAfter, line } from "d3-shape";
import { axisWords, createScale, domainX, domainY, type Scale } from "./axes";
import type { Figure, LineSeries, Panel, PointSeries, RugSeries } from "./figure";
import { type Box, boxOf, createPlacer, type Place, type Placer, spread, widthOf } from "./labels";
import { markWords } from "./mark-words";
import { around } from "./places";
import { dimension, escapeText, px, shape, stroke, write } from "./shapes";

export interface DrawOptions {
  width: number;
  /** For a sheet of paper: half as tall, so that two leaves find room on one. */
  low?: boolean;
  /** Draws the places that can be taken by a press, for a page that listens. */
  picks?: boolean;
}

/** Roles whose label stands beyond the end of the line, in the figure's right margin. */
const endsInMargin = new Set(["raw", "smoothed", "shown"]);
const rugRow = 22;

/** Lines of words that may be given room over a panel where none of its words would stand clear otherwise. */
const mostLinesOver = 2;

/** @returns one `<svg>` element as text; every word of the figure is escaped. */
export function drawFigure(figure: Figure, options: DrawOptions): string {
  let drawn = draw(figure, options, 0);
  for (let lines = 1; !drawn.isClear && lines <= mostLinesOver; lines++) drawn = draw(figure, options, 20 * lines);
  return drawn.svg;
}

/** @param over pixels left free over the panels whose gaps have words. */
function draw(figure: Figure, options: DrawOptions, over: number): { svg: string; isClear: boolean } {
  const { width } = options;
  let isClear = true;
  const wide = width > 500;
  const all = figure.panels.flatMap((p) => p.series);
  const marginWords = all.flatMap((s) =>
    s.kind === "rug" ? [s.label] : s.kind === "line" && s.label && endsInMargin.has(s.role) ? [s.label] : [],
  );
  const right =
    marginWords.length > 0 ? Math.min(width * 0.28, 12 + Math.max(...marginWords.map((w) => widthOf(w)))) : 12;
  const xDomain = domainX(figure);
  const full = (wide ? 330 : 290) * (options.low ? 0.46 : 1) * (1 + 0.36 * (figure.panels.length - 1));
  const shares = figure.panels.reduce((s, p) => s + p.share, 0) || 1;
  const frames: { panel: Panel; top: number; height: number; y: Scale | null; rugs: RugSeries[] }[] = [];
  let cursor = 0;
  let left = 0;
  for (const panel of figure.panels) {
    const rugs = panel.series.filter((s): s is RugSeries => s.kind === "rug");
    const onlyRugs = rugs.length === panel.series.length && rugs.length > 0;
    // Dimensions alone, on levels that mean nothing: no ticks, and only as tall as the levels need.
    const bare = isBare(panel);
    const rows = panel.y.to !== null && panel.y.from !== null ? panel.y.to - panel.y.from : 4;
    const room = hasGapWords(panel) ? over : 0;
    const height = onlyRugs
      ? 0
      : bare
        ? (options.low ? 33 : 40) * rows
        : Math.max(72, (full * panel.share) / shares) + room;
    const top = cursor + 30;
    const most = height > 150 ? 6 : 3;
    const y = onlyRugs ? null : createScale(panel.y, domainY(panel, most), [top + height, top + room], most);
    if (y && !bare) left = Math.max(left, ...y.ticks.map((t) => widthOf(y.write(t), 13.5)));
    frames.push({ panel, top, height, y, rugs });
    cursor = top + height + (rugs.length > 0 ? (onlyRugs ? 6 : 30) + rugs.length * rugRow : 0) + 14;
  }
  left = Math.max(28, left + 12);
  const plotRight = width - right;
  const x = createScale(figure.x, xDomain, [left, plotRight], wide ? 8 : 5);

  const out: string[] = [];
  frames.forEach((f, k) => {
    const { panel, top, height, y } = f;
    out.push(write(0, top - 16, axisWords(panel.y), "axt"));
    const frame: Box = { left, right: plotRight, top: top - 6, bottom: top + height };
    const placer = createPlacer(frame);
    if (axisWords(panel.y)) placer.take(boxOf({ x: 0, y: top - 16, anchor: "start" }, axisWords(panel.y)));
    const labels: string[] = [];
    if (y) {
      const clip = `clip-${escapeText(figure.id)}-${Math.round(width)}-${k}`;
      out.push(
        `<clipPath id="${clip}"><rect x="${px(left - 8)}" y="${px(top - 8)}" width="${px(plotRight - left + 16)}" height="${px(height + 10)}"/></clipPath>`,
      );
      out.push(...regions(panel, x, top, height));
      for (const tick of isBare(panel) ? [] : y.ticks) {
        out.push(stroke(left, y(tick), plotRight, y(tick), "grid"));
        out.push(write(left - 9, y(tick) + 4.5, y.write(tick), "tick", "end"));
      }
      if (y.domain[0] < 0 && y.domain[1] > 0 && k > 0) out.push(stroke(left, y(0), plotRight, y(0), "zero"));
      out.push(`<g clip-path="url(#${clip})">`, ...bands(panel, x, y), ...lines(panel, x, y, placer), "</g>");
      out.push(...markLines(panel, x, y, left, plotRight, top, height));
      out.push(...points(panel, x, y, placer, top, top + height));
      if (options.picks)
        (panel.picks ?? []).forEach((p, i) => {
          out.push(
            `<circle class="pick" data-pick="${i}" cx="${px(x(p.x))}" cy="${px(y(p.y))}" r="9"><title>${escapeText(p.says)}</title></circle>`,
          );
        });
      labels.push(...markWords(panel, x, y, placer, { left, right: plotRight, top, height }));
      if (hasGapWords(panel) && placer.wantsRoom()) isClear = false;
      labels.push(...lineLabels(panel, x, y, placer, plotRight, top, height), ...pointLabels(panel, x, y, placer));
      out.push(stroke(left, top + height, plotRight, top + height, "axis"));
      for (const t of x.ticks) out.push(stroke(x(t), top + height, x(t), top + height + 5, "axis"));
    }
    out.push(...rugStrips(f.rugs, x, top + height + (y ? 30 : 6), left, plotRight), ...labels);
  });
  const bottom = cursor - 14;
  const lastRugs = frames.at(-1)?.rugs.length ?? 0;
  if (lastRugs > 0) {
    out.push(stroke(left, bottom, plotRight, bottom, "axis"));
    for (const t of x.ticks) out.push(stroke(x(t), bottom, x(t), bottom + 5, "axis"));
  }
  x.ticks.forEach((t, i) => {
    const unit = i === x.ticks.length - 1 && figure.x.unit ? `\u00a0${figure.x.unit}` : "";
    const text = x.write(t) + unit;
    // A tick at the very end would stand out of the drawing with its unit.
    const over = x(t) + widthOf(text, 13.5) / 2 > width - 1;
    out.push(write(over ? width - 1 : x(t), bottom + 20, text, "tick", over ? "end" : "middle"));
  });
  let total = bottom + 26;
  if (figure.x.label) {
    out.push(write(plotRight, bottom + 40, figure.x.label, "axt", "end"));
    total += 20;
  }
  const svg = `<svg xmlns="http://www.w3.org/2000/svg" class="drawn" viewBox="0 0 ${px(width)} ${px(total)}" role="img" aria-label="${escapeText(figure.finding)}">${out.join("")}</svg>`;
  return { svg, isClear };
}

const hasGapWords = (panel: Panel): boolean => panel.marks.some((m) => m.kind === "gap" && m.text);

const isBare = (panel: Panel): boolean => panel.series.length === 0 && panel.y.label === "" && panel.y.unit === "";

function regions(panel: Panel, x: Scale, top: number, height: number): string[] {
  return panel.marks.flatMap((m) =>
    m.kind === "region"
      ? [
          `<rect class="region" x="${px(Math.min(x(m.from), x(m.to)))}" y="${px(top)}" width="${px(Math.abs(x(m.to) - x(m.from)))}" height="${px(height)}"/>`,
        ]
      : [],
  );
}

function bands(panel: Panel, x: Scale, y: Scale): string[] {
  return panel.series.flatMap((s) => {
    if (s.kind !== "band") return [];
    const path = area<number>()
      .defined((_, i) => [s.x[i], s.lower[i], s.upper[i]].every((v) => Number.isFinite(v)))
      .x((_, i) => x(s.x[i]!))
      .y0((_, i) => y(s.lower[i]!))
      .y1((_, i) => y(s.upper[i]!))
      .digits(1)(s.x);
    return path ? [`<path class="band" d="${path}"/>`] : [];
  });
}

function pathOf(s: LineSeries, x: Scale, y: Scale): string | null {
  const draw = line<number>()
    .defined((_, i) => Number.isFinite(s.x[i]) && Number.isFinite(s.y[i]))
    .x((_, i) => x(s.x[i]!))
    .y((_, i) => y(s.y[i]!))
    .digits(1);
  if (s.stepped) draw.curve(curveStepAfter);
  return draw(s.x);
}

function lines(panel: Panel, x: Scale, y: Scale, placer: Placer): string[] {
  let others = 0;
  return panel.series.flatMap((s) => {
    if (s.kind !== "line") return [];
    const path = pathOf(s, x, y);
    if (!path) return [];
    obstruct(s, x, y, placer);
    return [`<path class="${s.role}${s.role === "other" ? ` o${others++ % 4}` : ""}" d="${path}"/>`];
  });
}

/** Labels keep off the lines: a point every few pixels along each. */
function obstruct(s: LineSeries, x: Scale, y: Scale, placer: Placer): void {
  const every = Math.max(1, Math.floor(s.x.length / 400));
  for (let i = every; i < s.x.length; i += every) {
    const [x1, y1, x2, y2] = [x(s.x[i - every]!), y(s.y[i - every]!), x(s.x[i]!), y(s.y[i]!)];
    const n = Math.min(60, Math.max(1, Math.round(Math.hypot(x2 - x1, y2 - y1) / 7)));
    if (s.role !== "raw") placer.keepOff({ x1, y1, x2, y2 });
    for (let k = 0; k < n; k++)
      placer.avoid(x1 + ((x2 - x1) * k) / n, y1 + ((y2 - y1) * k) / n, s.role === "raw" ? 0.2 : 1.5);
  }
}

function points(panel: Panel, x: Scale, y: Scale, placer: Placer, top: number, bottom: number): string[] {
  // A bar ends with the frame, as a curve does: what lies beyond is on no scale.
  const inside = (at: number) => Math.min(bottom, Math.max(top, at));
  return panel.series.flatMap((s) => {
    if (s.kind !== "points") return [];
    return s.x.flatMap((v, i) => {
      if (!Number.isFinite(v) || !Number.isFinite(s.y[i])) return [];
      const [cx, cy] = [x(v), y(s.y[i]!)];
      for (const dx of [-5, 0, 5]) placer.avoid(cx + dx, cy, 6);
      placer.keepOff({ x1: cx - 5, y1: cy - 5, x2: cx + 5, y2: cy + 5 });
      placer.keepOff({ x1: cx - 5, y1: cy + 5, x2: cx + 5, y2: cy - 5 });
      const bounded = s.lower && s.upper && Number.isFinite(s.lower[i]) && Number.isFinite(s.upper[i]);
      const bar = bounded
        ? [stroke(cx, inside(y(s.lower![i]!)), cx, inside(y(s.upper![i]!)), s.role === "suspect" ? "bar sus" : "bar")]
        : [];
      if (bounded) placer.keepOff({ x1: cx, y1: inside(y(s.lower![i]!)), x2: cx, y2: inside(y(s.upper![i]!)) });
      if (bounded)
        for (let at = inside(y(s.upper![i]!)); at <= inside(y(s.lower![i]!)); at += 7) placer.avoid(cx, at, 1.5);
      // The pencil's tick stands over its point: from its foot up to the end of its long stroke.
      if (s.role === "chosen")
        for (const [dx, dy] of [
          [4, -5],
          [8, -11],
          [12, -17],
        ] as const)
          placer.avoid(cx + dx, cy + dy, 6);
      return [...bar, shape(cx, cy, s.role)];
    });
  });
}

function markLines(
  panel: Panel,
  x: Scale,
  y: Scale,
  left: number,
  right: number,
  top: number,
  height: number,
): string[] {
  return panel.marks.flatMap((m) => {
    if (m.kind === "gap") return [dimension(x(m.x), y(m.from), x(m.x), y(m.to))];
    if (m.kind === "gap-x") return [dimension(x(m.from), y(m.y), x(m.to), y(m.y))];
    if (m.kind === "vertical") return [stroke(x(m.x), top, x(m.x), top + height, m.role)];
    if (m.kind === "horizontal") return [stroke(left, y(m.y), right, y(m.y), m.role)];
    return [];
  });
}

/** The word for a line: beyond its end for traces, else beside it where least is crossed, near its end if it can be. */
function lineLabels(
  panel: Panel,
  x: Scale,
  y: Scale,
  placer: Placer,
  right: number,
  top: number,
  height: number,
): string[] {
  const named = panel.series.filter((s): s is LineSeries => s.kind === "line" && s.label !== null && s.x.length > 0);
  const cls = (s: LineSeries) =>
    `lab${s.role === "curve" || s.role === "smoothed" ? " hue" : ""}${s.role === "shown" || s.role === "curve" ? " strong" : ""}${s.role === "limit" ? " yours" : ""}`;
  const margin = named.filter((s) => endsInMargin.has(s.role));
  const heights = spread(
    margin.map((s) => y(lastFinite(s.y)) + 4.5),
    17,
    top + 6,
    top + height,
  );
  const out = margin.map((s, i) => write(right + 8, heights[i]!, s.label!, cls(s)));
  for (const s of named.filter((n) => !endsInMargin.has(n.role))) {
    const places: Place[] = [];
    const [start, end] = [x(s.x[0]!), x(s.x.at(-1)!)];
    // A short one is named over or under its middle: a word beside its end would seem its neighbour's.
    if (s.x.length === 2 && Math.abs(end - start) < 80) {
      const middle = (start + end) / 2;
      const py = (y(s.y[0]!) + y(s.y[1]!)) / 2;
      places.push(
        { x: middle, y: py - 8, anchor: "middle", cost: -4 },
        { x: middle, y: py + 19, anchor: "middle", cost: -3.5 },
      );
    }
    for (const share of [0.97, 0.9, 0.82, 0.74, 0.66, 0.55, 0.44, 0.33, 0.22, 0.12]) {
      const i = Math.min(s.x.length - 1, Math.round(share * (s.x.length - 1)));
      // A line of two points is labelled along its length, not only at its corners.
      const two = s.x.length < 12;
      const from = two ? s.x[0]! + share * (s.x.at(-1)! - s.x[0]!) : s.x[i]!;
      const py = two ? y(alongAt(s, from)) : y(s.y[i]!);
      const cx = x(from);
      if (!Number.isFinite(cx) || !Number.isFinite(py) || py < top || py > top + height) continue;
      const cost = (1 - share) * 4;
      places.push(
        { x: cx + 12, y: py + 20, anchor: "start", cost },
        { x: cx - 10, y: py - 9, anchor: "end", cost },
        { x: cx, y: py - 10, anchor: "middle", cost: cost + 0.5 },
        { x: cx, y: py + 21, anchor: "middle", cost: cost + 0.5 },
        { x: cx + 12, y: py - 9, anchor: "start", cost },
        { x: cx - 10, y: py + 21, anchor: "end", cost },
      );
    }
    // Under the axis stand its ticks: a line that lies on it is named above it or not at all.
    const place = placer.put(
      s.label!,
      places.filter((p) => {
        const box = boxOf(p, s.label!);
        return p.y + 4 <= top + height && box.left >= x(x.domain[0]) - 4 && box.right <= right + 8;
      }),
    );
    if (place) out.push(write(place.x, place.y, s.label!, cls(s), place.anchor));
  }
  return out;
}

function alongAt(s: LineSeries, at: number): number {
  for (let i = 1; i < s.x.length; i++)
    if ((at - s.x[i - 1]!) * (at - s.x[i]!) <= 0 && s.x[i] !== s.x[i - 1])
      return s.y[i - 1]! + ((at - s.x[i - 1]!) / (s.x[i]! - s.x[i - 1]!)) * (s.y[i]! - s.y[i - 1]!);
  return s.y[0]!;
}

const lastFinite = (values: number[]): number => {
  for (let i = values.length - 1; i >= 0; i--) if (Number.isFinite(values[i])) return values[i]!;
  return 0;
};

function pointLabels(panel: Panel, x: Scale, y: Scale, placer: Placer): string[] {
  const out: string[] = [];
  // What is doubtful is named before what is plain, so that a crowded figure drops the plain ones.
  const rank = (s: PointSeries) => ["chosen", "suspect", "set-aside", "written", "plain", "accepted"].indexOf(s.role);
  const series = panel.series.filter((s): s is PointSeries => s.kind === "points").sort((a, b) => rank(a) - rank(b));
  for (const s of series)
    (s.labels ?? []).forEach((text, i) => {
      if (!text || !Number.isFinite(s.x[i]) || !Number.isFinite(s.y[i])) return;
      const cls = `lab${s.role === "chosen" ? " strong yours" : s.role === "suspect" ? " strong" : ""}`;
      const place = placer.put(text, around(x(s.x[i]!), y(s.y[i]!), s.role === "chosen"));
      if (place) out.push(write(place.x, place.y, text, cls, place.anchor));
    });
  return out;
}

/** One stroke for each event, a level a series, its count or word beyond the right end. */
function rugStrips(rugs: RugSeries[], x: Scale, top: number, left: number, right: number): string[] {
  return rugs.flatMap((s, i) => {
    const y = top + i * rugRow + 6;
    const inside = s.x.filter((v) => v >= x.domain[0] && v <= x.domain[1]);
    const path = inside.map((v) => `M${px(x(v))} ${px(y - 6)}v12`).join("");
    return [
      stroke(left, y + 9, right, y + 9, "grid"),
      path ? `<path class="rug ${s.role}" d="${path}"/>` : "",
      write(right + 8, y + 4.5, s.label, s.role === "shown" ? "lab strong" : "lab"),
    ];
  });
}

/** The box a label would take, for tests of what covers what. */
export const labelBox = boxOf;
