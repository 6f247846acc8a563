/**
 * Labels: where words may stand in a figure so that none covers another, and as few marks as possible are crossed.
 * Greedy: each label takes the cheapest of its places; labels that matter most come first.
 */

export interface Box {
  left: number;
  top: number;
  right: number;
  bottom: number;
}

export interface Place {
  x: number;
  y: number;
  anchor: "start" | "middle" | "end";
  /** What this place costs beforehand, compared with the label's other places. */
  cost: number;
}

/** Mean advance of a lining figure face, as a share of its size: from the widths of Overpass's letters. */
const advance = 0.53;

export const widthOf = (text: string, size = 14): number => text.length * size * advance;

export function boxOf(place: Pick<Place, "x" | "y" | "anchor">, text: string, size = 14): Box {
  const w = widthOf(text, size);
  const left = place.anchor === "start" ? place.x : place.anchor === "end" ? place.x - w : place.x - w / 2;
  return { left, right: left + w, top: place.y - size * 0.82, bottom: place.y + size * 0.26 };
}

export const overlap = (a: Box, b: Box, room = 2): boolean =>
  a.left < b.right + room && b.left < a.right + room && a.top < b.bottom + room && b.top < a.bottom + room;

/** Keeps the boxes that are taken and the points that would rather not be covered. */
export function createPlacer(frame: Box) {
  const taken: Box[] = [];
  const obstacles: { x: number; y: number; weight: number }[] = [];
  const costOf = (box: Box): number => {
    let cost = 0;
    for (const o of obstacles)
      if (o.x > box.left - 3 && o.x < box.right + 3 && o.y > box.top - 2 && o.y < box.bottom + 2) cost += o.weight;
    const out =
      Math.max(0, frame.left - box.left) +
      Math.max(0, box.right - frame.right) +
      Math.max(0, frame.top - box.top) +
      Math.max(0, box.bottom - frame.bottom);
    return cost + out * 4;
  };
  return {
    avoid(x: number, y: number, weight = 1) {
      if (Number.isFinite(x) && Number.isFinite(y)) obstacles.push({ x, y, weight });
    },
    take(box: Box) {
      taken.push(box);
    },
    /** The cheapest place that covers no other label; null if every one of them does. */
    put(text: string, places: Place[], size = 14): Place | null {
      let best: Place | null = null;
      let least = Number.POSITIVE_INFINITY;
      for (const place of places) {
        const box = boxOf(place, text, size);
        if (taken.some((t) => overlap(t, box))) continue;
        const cost = place.cost + costOf(box);
        if (cost < least) {
          least = cost;
          best = place;
        }
      }
      if (best) taken.push(boxOf(best, text, size));
      return best;
    },
  };
}

export type Placer = ReturnType<typeof createPlacer>;

/** Pushes labels that stand in one column apart to `room` pixels, order kept, as near to their own height as it goes. */
export function spread(heights: number[], room: number, top: number, bottom: number): number[] {
  const order = heights.map((y, i) => ({ y, i })).sort((a, b) => a.y - b.y);
  const ys = order.map((o) => Math.min(Math.max(o.y, top), bottom));
  for (let k = 1; k < ys.length; k++) ys[k] = Math.max(ys[k]!, ys[k - 1]! + room);
  if (ys.length > 0) ys[ys.length - 1] = Math.min(ys[ys.length - 1]!, bottom);
  for (let k = ys.length - 2; k >= 0; k--) ys[k] = Math.min(ys[k]!, ys[k + 1]! - room);
  const out = new Array<number>(heights.length);
  order.forEach((o, k) => {
    out[o.i] = ys[k]!;
  });
  return out;
}
