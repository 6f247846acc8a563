/** Strokes of a panel: bands, lines, points with their bars, marks and strips of events. Each tells the placer of words where it runs. */
import { area, curveStepAfter, line } from "d3-shape";
import type { Scale } from "./axes";
import type { LineSeries, Panel, RugSeries } from "./figure";
import type { Placer } from "./labels";
import { dimension, lineClass, px, shape, stroke, write } from "./shapes";

/** Height of a strip of events, pixels. */
export const rugRow = 22;

export function regions(panel: Panel, x: Scale, top: number, height: number): string[] {
  return panel.marks.flatMap((m) =>
    m.kind === "region"
      ? [
          `<rect class="region" x="${px(Math.min(x(m.from), x(m.to)))}" y="${px(top)}" width="${px(Math.abs(x(m.to) - x(m.from)))}" height="${px(height)}"/>`,
        ]
      : [],
  );
}

export function bands(panel: Panel, x: Scale, y: Scale): string[] {
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

export function lines(panel: Panel, x: Scale, y: Scale, placer: Placer): string[] {
  let others = 0;
  return panel.series.flatMap((s) => {
    if (s.kind !== "line") return [];
    const path = pathOf(s, x, y);
    if (!path) return [];
    obstruct(s, x, y, placer);
    return [`<path class="${lineClass(s.role, s.role === "other" ? others++ : 0)}" d="${path}"/>`];
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

export function points(panel: Panel, x: Scale, y: Scale, placer: Placer, top: number, bottom: number): string[] {
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

export function markLines(
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

/** One stroke for each event, a level a series, its count or word beyond the right end. */
export function rugStrips(rugs: RugSeries[], x: Scale, top: number, left: number, right: number): string[] {
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
