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

/** Advances of the tabular figure face in a number, as a share of its size, measured on Overpass; what is not named here counts as wide. */
const numberAdvance: Record<string, number> = { ".": 0.22, ",": 0.22, "\u00a0": 0.26, " ": 0.26 };

/** Width of a number on an axis: its digits are wider than the mean letter, and six of them stand out of the drawing if taken for letters. */
export const widthOfNumber = (text: string, size = 13.5): number =>
  [...text].reduce((w, c) => w + size * (numberAdvance[c] ?? 0.65), 0);

export function boxOf(place: Pick<Place, "x" | "y" | "anchor">, text: string, size = 14): Box {
  const w = widthOf(text, size);
  const left = place.anchor === "start" ? place.x : place.anchor === "end" ? place.x - w : place.x - w / 2;
  return { left, right: left + w, top: place.y - size * 0.82, bottom: place.y + size * 0.26 };
}

export const overlap = (a: Box, b: Box, room = 2): boolean =>
  a.left < b.right + room && b.left < a.right + room && a.top < b.bottom + room && b.top < a.bottom + room;

export interface Segment {
  x1: number;
  y1: number;
  x2: number;
  y2: number;
}

/**
 * Does a straight stroke touch a box, `room` pixels round it counted in? (Liang and Barsky's clipping, from memory.) Asked some hundred thousand times
 * a sheet: most strokes lie wholly to one side of the box, and are told so first.
 */
export function crosses({ x1, y1, x2, y2 }: Segment, box: Box, room = 2): boolean {
  const left = box.left - room;
  const right = box.right + room;
  const top = box.top - room;
  const bottom = box.bottom + room;
  if ((x1 < left && x2 < left) || (x1 > right && x2 > right)) return false;
  if ((y1 < top && y2 < top) || (y1 > bottom && y2 > bottom)) return false;
  // What is left of the stroke, as shares of its length, between the upright edges and then between the level ones.
  let [from, to] = [0, 1];
  const dx = x2 - x1;
  if (dx !== 0) {
    const [a, b] = [(left - x1) / dx, (right - x1) / dx];
    from = Math.max(from, Math.min(a, b));
    to = Math.min(to, Math.max(a, b));
    if (from > to) return false;
  }
  const dy = y2 - y1;
  if (dy !== 0) {
    const [a, b] = [(top - y1) / dy, (bottom - y1) / dy];
    from = Math.max(from, Math.min(a, b));
    to = Math.min(to, Math.max(a, b));
  }
  return from <= to;
}

interface Clear {
  reach?: number;
  over?: number;
  lines?: number;
  orNone?: boolean;
}

/** Height of one line of words over the next. */
export const lineHeight = 15;

const blockOf = (place: Place, text: string, lines: number): Box => {
  const box = boxOf(place, text);
  return { ...box, top: box.top - (lines - 1) * lineHeight };
};

/** What it costs to cross a stroke: more than to stand out of the frame. */
const crossing = 1000;

/** Keeps the boxes that are taken and the points that would rather not be covered. */
export function createPlacer(frame: Box) {
  const taken: Box[] = [];
  const obstacles: { x: number; y: number; weight: number }[] = [];
  const strokes: Segment[] = [];
  let wantsRoom = false;
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
    /** A stroke that words are kept off altogether where there is room for it. */
    keepOff(stroke: Segment) {
      if (Object.values(stroke).every(Number.isFinite)) strokes.push(stroke);
    },
    /** True when words had to be put across a stroke. */
    wantsRoom: () => wantsRoom,
    /**
     * Like `put`; where all of these places cross a stroke, the nearest clear one anywhere in the frame. Null where `orNone` and none is clear.
     * @param near from where distance counts; words further off than `reach` would seem another's. @param over pixels that may stand out over the frame.
     */
    putClear(text: string, places: Place[], near: Segment, options: Clear = {}): Place | null {
      const { reach = Number.POSITIVE_INFINITY, over = 4, lines = 1, orNone = false } = options;
      const isFree = (p: Place) => {
        const box = blockOf(p, text, lines);
        const isInside =
          box.left >= frame.left - 4 &&
          box.right <= frame.right + 4 &&
          box.top >= frame.top - over &&
          box.bottom <= frame.bottom;
        return isInside && !taken.some((t) => overlap(t, box));
      };
      const crossed = (p: Place) => strokes.some((s) => crosses(s, blockOf(p, text, lines)));
      const isClear = (p: Place) => isFree(p) && !crossed(p);
      if (!places.some(isClear)) {
        // The nearest first: most of them need not be looked at.
        const clear = placesIn(frame, text, near)
          .filter((p) => p.cost <= reach)
          .sort((a, b) => a.cost - b.cost)
          .find(isClear);
        if (clear) return this.put(text, [clear], lines);
        if (orNone) return null;
        wantsRoom = true;
      }
      const dear = places.map((p) => (crossed(p) ? { ...p, cost: p.cost + crossing } : p));
      return this.put(text, dear, lines);
    },
    /** The cheapest place that covers no other label; null if every one of them does. @param lines of words, the place being that of the last. */
    put(text: string, places: Place[], lines = 1): Place | null {
      let best: Place | null = null;
      let least = Number.POSITIVE_INFINITY;
      for (const place of places) {
        const box = blockOf(place, text, lines);
        if (taken.some((t) => overlap(t, box))) continue;
        const cost = place.cost + costOf(box);
        if (cost < least) {
          least = cost;
          best = place;
        }
      }
      if (best) taken.push(blockOf(best, text, lines));
      return best;
    },
  };
}

/** Places all over a frame, the dearer the further from a stroke. */
function placesIn(frame: Box, text: string, near: Segment, size = 14): Place[] {
  const w = widthOf(text, size);
  const places: Place[] = [];
  const away = (x: number, y: number) => {
    const dx = Math.max(Math.min(near.x1, near.x2) - (x + w), x - Math.max(near.x1, near.x2), 0);
    const dy = Math.max(Math.min(near.y1, near.y2) - y, y - Math.max(near.y1, near.y2), 0);
    return Math.hypot(dx, dy);
  };
  for (let y = frame.top + size; y <= frame.bottom - 4; y += 6)
    for (let x = frame.left; x + w <= frame.right; x += 8) places.push({ x, y, anchor: "start", cost: away(x, y) });
  return places;
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
