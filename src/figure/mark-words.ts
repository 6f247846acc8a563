/** Words of marks: where each stands, in one line or two, off the strokes of its panel where that can be. */
import type { Scale } from "./axes";
import type { Mark, Panel } from "./figure";
import { boxOf, lineHeight, type Place, type Placer, type Segment, widthOf } from "./labels";
import { inLines, placesOf } from "./places";
import { write } from "./shapes";

interface Frame {
  left: number;
  right: number;
  top: number;
  height: number;
}

/** Every mark's words as SVG text; a mark that finds no place without covering other words goes without. */
export function markWords(panel: Panel, x: Scale, y: Scale, placer: Placer, frame: Frame): string[] {
  obstruct(panel, x, y, placer, frame);
  const uprights = panel.marks.flatMap((m) => (m.kind === "vertical" ? [x(m.x)] : []));
  return panel.marks.flatMap((m) => {
    if (!m.text) return [];
    const strong = m.kind === "gap" || m.kind === "gap-x";
    const cls = `lab${strong ? " strong" : ""}${"role" in m && m.role === "limit" ? " yours" : ""}`;
    const { said, place } = placed(m, m.text, placesOf(m, x, y, { ...frame, uprights }), x, y, placer, frame);
    if (!place) return [];
    const [last, over] = [said.at(-1)!, said[0]!];
    if (said.length === 1) return [write(place.x, place.y, last, cls, place.anchor)];
    placer.take(boxOf({ ...place, y: place.y - lineHeight }, over));
    return [
      write(place.x, place.y - lineHeight, over, cls, place.anchor),
      write(place.x, place.y, last, cls, place.anchor),
    ];
  });
}

/** The marks' own strokes, for all words to keep off. */
function obstruct(panel: Panel, x: Scale, y: Scale, placer: Placer, { left, right, top, height }: Frame): void {
  for (const m of panel.marks)
    if (m.kind === "vertical") {
      const u = x(m.x);
      placer.keepOff({ x1: u, y1: top, x2: u, y2: top + height });
      for (let at = top; at < top + height; at += 7) placer.avoid(u, at, 1.5);
    } else if (m.kind === "gap") {
      const [high, low] = [Math.min(y(m.from), y(m.to)), Math.max(y(m.from), y(m.to))];
      for (let at = high; at <= low; at += 7) placer.avoid(x(m.x), at, 1.5);
      placer.keepOff({ x1: x(m.x), y1: high, x2: x(m.x), y2: low });
      for (const at of [high, low]) placer.keepOff({ x1: x(m.x) - 5, y1: at, x2: x(m.x) + 5, y2: at });
    } else if (m.kind === "horizontal") {
      for (let at = left; at < right; at += 7) placer.avoid(at, y(m.y), 0.5);
      placer.keepOff({ x1: left, y1: y(m.y), x2: right, y2: y(m.y) });
    } else if (m.kind === "gap-x") placer.keepOff({ x1: x(m.from), y1: y(m.y), x2: x(m.to), y2: y(m.y) });
}

const widest = (said: string[]) => said.reduce((a, b) => (widthOf(b) > widthOf(a) ? b : a));

/** How far the words of an upright may stand from it, and over the frame. */
const besideUpright = { reach: 14, over: 20 };
/** How far words may stand from what they name, pixels: further off they would seem another's. */
const beside = { gap: 24, flat: 12, level: 60 };

/** A reach for words that stand at one of their places or at none. */
const nowhereElse = -1;

function placed(
  m: Mark,
  text: string,
  places: Place[],
  x: Scale,
  y: Scale,
  placer: Placer,
  { left, right, top, height }: Frame,
): { said: string[]; place: Place | null } {
  // Under the axis stand its ticks.
  const within = (words: string) => places.filter((p) => p.y + 4 <= top + height && boxOf(p, words).left >= 0);
  /** Clear of every stroke and near what is named: whole, else in two lines; null where neither has room. */
  const near = (stroke: Segment, reach: number, over = 4, from = within) => {
    for (const said of [[text], ...inTwo(text)]) {
      const words = widest(said);
      const options = { reach, lines: said.length, orNone: true, ...(said.length === 1 ? { over } : {}) };
      const place = placer.putClear(words, from(words), stroke, options);
      if (place) return { said, place };
    }
    return null;
  };
  switch (m.kind) {
    case "gap": {
      const stroke = { x1: x(m.x), y1: y(m.from), x2: x(m.x), y2: y(m.to) };
      return near(stroke, beside.gap) ?? { said: [text], place: placer.putClear(text, within(text), stroke) };
    }
    case "vertical": {
      const stroke = { x1: x(m.x), y1: top, x2: x(m.x), y2: top + height };
      const { reach, over } = besideUpright;
      return (
        near(stroke, reach, over) ?? { said: [text], place: placer.putClear(text, within(text), stroke, besideUpright) }
      );
    }
    case "horizontal": {
      const level = y(m.y);
      const stroke = { x1: left, y1: level, x2: right, y2: level };
      const found = near(stroke, beside.level) ?? { said: [text], place: placer.put(text, places) };
      if (found.place) {
        // Nothing else may stand between the words and their line: it would seem the name of it.
        const box = boxOf(found.place, widest(found.said));
        placer.take({ ...box, top: Math.min(box.top, level), bottom: Math.max(box.bottom, level) });
      }
      return found;
    }
    case "gap-x": {
      const stroke = { x1: x(m.from), y1: y(m.y), x2: x(m.to), y2: y(m.y) };
      const [low, high] = [Math.min(stroke.x1, stroke.x2), Math.max(stroke.x1, stroke.x2)];
      const inside = (words: string) =>
        places.filter((p) => boxOf(p, words).left >= left - 4 && boxOf(p, words).right <= right + 4);
      /** Over the dimension, or level with it and right beside it: flush with a frame far off, words are a last resort. */
      const by = (words: string) =>
        inside(words).filter((p) => {
          const box = boxOf(p, words);
          const off = Math.max(box.left - high, low - box.right);
          return off <= (p.y > y(m.y) ? beside.flat : -Math.min(10, 0.9 * (high - low)));
        });
      const clear = near(stroke, nowhereElse, 4, by);
      if (clear) return clear;
      // Words long enough to be broken: on a narrow sheet also what would lie across half of it, and so across its uprights.
      const room = (right - left) * (right - left < 400 ? 0.6 : 1);
      const said = inLines(text, room);
      const some = [by(widest(said)), inside(widest(said)), places].find((list) => list.length > 0)!;
      return { said, place: placer.putClear(widest(said), some, stroke, { reach: nowhereElse, lines: said.length }) };
    }
    default:
      return { said: [text], place: placer.put(text, places) };
  }
}

/** The ways to break words into two lines: where a clause ends, and at the blank that leaves both about as wide. */
function inTwo(text: string): string[][] {
  const ways = [inLines(text, widthOf(text) - 1), inLines(text, 0)].filter((said) => said.length === 2);
  return ways.filter((said, i) => ways.findIndex((w) => w[0] === said[0]) === i);
}
