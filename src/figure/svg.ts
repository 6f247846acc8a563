/**
 * SVG: draws a figure once, anew for each width, as text. The same drawing serves page, print, report and command line.
 * Colours are classes of `figureCss`, so that dark paper and print need no second drawing.
 */
import { axisWords, createScale, domainX, domainY, type Scale } from "./axes";
import type { Figure, Panel, RugSeries } from "./figure";
import { type Box, boxOf, createPlacer, widthOf, widthOfNumber } from "./labels";
import { markWords } from "./mark-words";
import { endsInMargin, lineLabels, pointLabels } from "./series-words";
import { escapeText, px, stroke, write } from "./shapes";
import { bands, lines, markLines, points, regions, rugRow, rugStrips } from "./strokes";

export interface DrawOptions {
  width: number;
  /** For a sheet of paper: half as tall, so that two leaves find room on one. */
  low?: boolean;
  /** Draws the places that can be taken by a press, for a page that listens. */
  picks?: boolean;
}

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
  const full = (wide ? 330 : 290) * (options.low ? 0.445 : 1) * (1 + 0.36 * (figure.panels.length - 1));
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
        ? ((options.low ? 33 : 40) + 0.35 * room) * rows
        : Math.max(72, (full * panel.share) / shares) + room;
    // Room for the words of the axis: strokes of events have none, and stand close under the panel they belong to.
    const top = cursor + (onlyRugs && !axisWords(panel.y) ? 4 : 30);
    const most = height > 150 ? 6 : 3;
    const y = onlyRugs
      ? null
      : createScale(panel.y, domainY(panel, most), [top + height, bare ? top : top + room], most);
    if (y && !bare) left = Math.max(left, ...y.ticks.map((t) => roomOf(y.write(t))));
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
  // From the last one on, which has the unit behind it: a number that would touch the one after it is left away, its tick stays.
  let free = Number.POSITIVE_INFINITY;
  for (const [i, t] of [...x.ticks.entries()].reverse()) {
    const unit = i === x.ticks.length - 1 && figure.x.unit ? `\u00a0${figure.x.unit}` : "";
    const text = x.write(t) + unit;
    const half = widthOf(text, 13.5) / 2;
    // A tick at the very end would stand out of the drawing with its unit.
    const over = x(t) + half > width - 1;
    const [from, to] = over ? [width - 1 - 2 * half, width - 1] : [x(t) - half, x(t) + half];
    if (to + 5 > free) continue;
    free = from;
    out.push(write(over ? width - 1 : x(t), bottom + 20, text, "tick", over ? "end" : "middle"));
  }
  let total = bottom + 26;
  if (figure.x.label) {
    out.push(write(plotRight, bottom + 40, figure.x.label, "axt", "end"));
    total += 20;
  }
  const svg = `<svg xmlns="http://www.w3.org/2000/svg" class="drawn" viewBox="0 0 ${px(width)} ${px(total)}" role="img" aria-label="${escapeText(figure.finding)}">${out.join("")}</svg>`;
  return { svg, isClear };
}

/** What an upright axis keeps free for a number, without the gap to the axis: never less than the number is wide. */
const roomOf = (number: string): number => Math.max(widthOf(number, 13.5), widthOfNumber(number) - 2);

/** Words of dimensions: those that lie flat have room of their own only where a panel has nothing else in it. */
const hasGapWords = (panel: Panel): boolean =>
  panel.marks.some((m) => (m.kind === "gap" || (m.kind === "gap-x" && isBare(panel))) && m.text);

const isBare = (panel: Panel): boolean => panel.series.length === 0 && panel.y.label === "" && panel.y.unit === "";
