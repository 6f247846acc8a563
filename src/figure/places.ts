/** Places: where the words of a mark or a point may stand, and how words that are too wide are broken. */
import type { Scale } from "./axes";
import type { Mark } from "./figure";
import { type Place, widthOf } from "./labels";

/** One line, or two where one would not fit: broken at the last comma or colon, else at the blank nearest the middle. */
export function inLines(text: string, room: number): string[] {
  if (widthOf(text) <= room) return [text];
  const stop = Math.max(text.lastIndexOf(", "), text.lastIndexOf(": ")) + 1;
  const blanks = [...text].flatMap((c, i) => (c === " " ? [i] : []));
  const middle = blanks.reduce((a, b) => (Math.abs(b - text.length / 2) < Math.abs(a - text.length / 2) ? b : a), -1);
  const fits = stop > 0 && widthOf(text.slice(0, stop)) <= room && widthOf(text.slice(stop + 1)) <= room;
  const at = fits ? stop : middle;
  return at > 0 ? [text.slice(0, at), text.slice(at + 1)] : [text];
}

/** Places for the text of a mark, the dearest last. @param uprights where vertical marks stand, in pixels. */
export function placesOf(
  m: Mark,
  x: Scale,
  y: Scale,
  {
    left,
    right,
    top,
    height,
    uprights,
  }: { left: number; right: number; top: number; height: number; uprights: number[] },
): Place[] {
  const at = (px_: number, py: number, anchor: Place["anchor"], cost = 0): Place => ({ x: px_, y: py, anchor, cost });
  switch (m.kind) {
    case "gap": {
      const high = Math.min(y(m.from), y(m.to));
      const mid = (y(m.from) + y(m.to)) / 2;
      return [
        at(x(m.x) + 8, high - 10, "end", 0),
        at(x(m.x) + 10, mid + 5, "start", 1),
        at(x(m.x) - 10, mid + 5, "end", 1),
        at(x(m.x) - 8, high - 10, "start", 1),
        at(x(m.x), Math.max(y(m.from), y(m.to)) + 20, "middle", 2),
        at(x(m.x) - 10, high - 26, "end", 3),
      ];
    }
    case "gap-x": {
      const [low, high] = [Math.min(x(m.from), x(m.to)), Math.max(x(m.from), x(m.to))];
      const above = y(m.y) - 9;
      return [
        at((low + high) / 2, above, "middle"),
        at(high, above, "end", 0.3),
        at(low, above, "start", 0.3),
        // Beside an upright that goes through the dimension rather than across it.
        ...uprights.flatMap((u) => [at(u - 7, above, "end", 0.5), at(u + 7, above, "start", 0.5)]),
        at(low - 10, y(m.y) + 5, "end", 0.8),
        at(high + 10, y(m.y) + 5, "start", 0.8),
        at((low + high) / 2, y(m.y) + 19, "middle", 1),
        // Long words on a narrow sheet: flush with the frame.
        at(left, above, "start", 0.9),
        at(right, above, "end", 0.9),
      ];
    }
    case "vertical":
      return [0, 1, 2, 3, 5, 8].flatMap((k) => [
        at(x(m.x) + 7, top + 12 + k * 18, "start", k),
        at(x(m.x) - 7, top + 12 + k * 18, "end", k + 0.5),
        at(x(m.x) + 7, top + height - 8 - k * 18, "start", k + 2),
        // Over the upright itself, where its neighbours leave no room beside it.
        ...(k === 0
          ? [
              at(x(m.x), top - 6, "middle", 12),
              at(x(m.x) + 8, top - 6, "end", 13),
              at(x(m.x) - 8, top - 6, "start", 13),
            ]
          : []),
      ]);
    case "horizontal":
      return [
        at(left + 8, y(m.y) - 7, "start"),
        at(right - 4, y(m.y) - 7, "end", 1),
        at((left + right) / 2, y(m.y) - 7, "middle", 1),
        at(left + 8, y(m.y) + 17, "start", 2),
        at(right - 4, y(m.y) + 17, "end", 2),
      ];
    case "region": {
      // A narrow stretch at the frame's edge keeps its word inside, off the ticks beside it.
      const half = widthOf(m.text ?? "") / 2 + 2;
      const mid = Math.max(left + half, Math.min(right - half, (x(m.from) + x(m.to)) / 2));
      return [at(mid, top + 14, "middle"), at(mid, top + height - 8, "middle", 2), at(mid, top + 32, "middle", 3)];
    }
    case "text":
      return around(x(m.x), y(m.y));
  }
}

/** Round a point: below on the right first. */
export const around = (cx: number, cy: number, chosen = false): Place[] => [
  // Over the pencil's tick, which rises 17 pixels above its point.
  ...(chosen
    ? [
        { x: cx + 4, y: cy - 24, anchor: "middle" as const, cost: 0.4 },
        { x: cx + 14, y: cy - 24, anchor: "end" as const, cost: 0.6 },
        { x: cx - 6, y: cy - 24, anchor: "start" as const, cost: 0.6 },
        { x: cx + 14, y: cy - 40, anchor: "end" as const, cost: 1 },
        { x: cx - 12, y: cy + 22, anchor: "end" as const, cost: 1 },
        { x: cx + 4, y: cy - 52, anchor: "middle" as const, cost: 1.2 },
        { x: cx + 14, y: cy - 60, anchor: "end" as const, cost: 1.4 },
        // Beside the frame's right edge there is no room for the tick's own width.
        { x: cx + 3, y: cy - 40, anchor: "end" as const, cost: 1.5 },
        { x: cx + 3, y: cy - 60, anchor: "end" as const, cost: 1.6 },
      ]
    : []),
  { x: cx + 10, y: cy + 18, anchor: "start", cost: 0 },
  { x: cx + 11, y: cy + 5, anchor: "start", cost: 0.5 },
  { x: cx - 11, y: cy + 1, anchor: "end", cost: 0.5 },
  { x: cx, y: cy - 12, anchor: "middle", cost: 1 },
  { x: cx, y: cy + 23, anchor: "middle", cost: 1 },
  { x: cx - 10, y: cy - 12, anchor: "end", cost: 1.5 },
  { x: cx + 14, y: cy + 34, anchor: "start", cost: 4 },
];
