/** Words of lines and points, put where they cross least. */
import type { Scale } from "./axes";
import type { LineSeries, Panel, PointSeries } from "./figure";
import { boxOf, crosses, type Place, type Placer, type Segment, spread } from "./labels";
import { around } from "./places";
import { write } from "./shapes";

/** Roles whose label stands beyond the end of the line, in the figure's right margin. */
export const endsInMargin = new Set(["raw", "smoothed", "shown"]);

/** Where along a line its word is tried, where many lines leave little room. */
const close = Array.from({ length: 33 }, (_, i) => 0.98 - 0.03 * i);

/** The word for a line: beyond its end for traces, else beside it where least is crossed, near its end if it can be. */
export function lineLabels(
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
  const crowded = named.length > 3;
  const strokes = new Map(named.map((s) => [s, strokesOf(s, x, y)]));
  /** A word on a line hides it; across or close to another line it would seem that one's. */
  const mistaken = (s: LineSeries, place: Place): number => {
    const box = boxOf(place, s.label!);
    let cost = 0;
    for (const [line, segments] of strokes) {
      // What lies further off than this touches nothing: few strokes are looked at again.
      const near = segments.filter((segment) => crosses(segment, box, 9));
      if (near.length === 0) continue;
      const touches = (room: number) => near.some((segment) => crosses(segment, box, room));
      if (line === s) cost += touches(0) ? 2 : 0;
      else cost += touches(1) ? 12 : 5;
    }
    return cost;
  };
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
    for (const share of crowded ? close : [0.97, 0.9, 0.82, 0.74, 0.66, 0.55, 0.44, 0.33, 0.22, 0.12]) {
      const i = Math.min(s.x.length - 1, Math.round(share * (s.x.length - 1)));
      // A line of few points is labelled along its length, not only at its corners.
      const along = crowded || s.x.length < 12;
      const cx = along ? start + share * (end - start) : x(s.x[i]!);
      const py = along ? heightAt(strokes.get(s)!, cx) : y(s.y[i]!);
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
      places
        .filter((p) => {
          const box = boxOf(p, s.label!);
          return p.y + 4 <= top + height && box.left >= x(x.domain[0]) - 4 && box.right <= right + 8;
        })
        .map((p) => ({ ...p, cost: p.cost + mistaken(s, p) })),
    );
    if (place) out.push(write(place.x, place.y, s.label!, cls(s), place.anchor));
  }
  return out;
}

const strokesOf = (s: LineSeries, x: Scale, y: Scale): Segment[] =>
  s.x
    .slice(1)
    .map((_, i) => ({ x1: x(s.x[i]!), y1: y(s.y[i]!), x2: x(s.x[i + 1]!), y2: y(s.y[i + 1]!) }))
    .filter(({ x1, y1, x2, y2 }) => Number.isFinite(x1 + y1 + x2 + y2));

/** Pixels; not a number where the line does not go. */
function heightAt(strokes: Segment[], cx: number): number {
  const on = strokes.find(({ x1, x2 }) => (cx - x1) * (cx - x2) <= 0 && x1 !== x2);
  return on ? on.y1 + ((cx - on.x1) / (on.x2 - on.x1)) * (on.y2 - on.y1) : Number.NaN;
}

const lastFinite = (values: number[]): number => {
  for (let i = values.length - 1; i >= 0; i--) if (Number.isFinite(values[i])) return values[i]!;
  return 0;
};

export function pointLabels(panel: Panel, x: Scale, y: Scale, placer: Placer): string[] {
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
