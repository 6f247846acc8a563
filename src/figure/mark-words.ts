/** Words of marks: where each stands, in one line or two, off the strokes of its panel where that can be. */
import type { Scale } from "./axes";
import type { Mark, Panel } from "./figure";
import { boxOf, lineHeight, type Place, type Placer, widthOf } from "./labels";
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
    } else if (m.kind === "horizontal") for (let at = left; at < right; at += 7) placer.avoid(at, y(m.y), 0.5);
}

const widest = (said: string[]) => said.reduce((a, b) => (widthOf(b) > widthOf(a) ? b : a));

/** How far the words of an upright may stand from it, and over the frame. */
const besideUpright = { reach: 14, over: 20 };

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
  if (m.kind === "gap") {
    const near = { x1: x(m.x), y1: y(m.from), x2: x(m.x), y2: y(m.to) };
    return { said: [text], place: placer.putClear(text, within(text), near) };
  }
  if (m.kind === "vertical") {
    const near = { x1: x(m.x), y1: top, x2: x(m.x), y2: top + height };
    const whole = placer.putClear(text, within(text), near, { ...besideUpright, orNone: true });
    if (whole) return { said: [text], place: whole };
    // Too wide for the room between its neighbours: in two lines it may stand there.
    const said = inLines(text, widthOf(text) - 1);
    const { reach } = besideUpright;
    const broken = placer.putClear(widest(said), within(widest(said)), near, {
      reach,
      lines: said.length,
      orNone: true,
    });
    if (broken) return { said, place: broken };
    return { said: [text], place: placer.putClear(text, within(text), near, besideUpright) };
  }
  // Dimensions that lie flat have words long enough to be broken, and the room over them.
  // On a narrow sheet also what would lie across half of it, and so across its uprights.
  const room = (right - left) * (right - left < 400 ? 0.6 : 1);
  const said = m.kind === "gap-x" ? inLines(text, room) : [text];
  return { said, place: placer.put(widest(said), places) };
}
