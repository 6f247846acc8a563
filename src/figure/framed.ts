/** Framed: a figure as a file of its own, with what the page sets round it: its finding, its key, and what it was drawn from. */
import type { Figure } from "./figure";
import { widthOf } from "./labels";
import { escapeText, keyShape, px, write } from "./shapes";
import { drawFigure } from "./svg";
import { figureCss, tokensCss } from "./theme";

const pad = 20;
const titleSize = 18;
const keySize = 14;

/** Words in lines that are no wider than `room` pixels; a single word is never broken. */
export function wrapped(text: string, room: number, size: number): string[] {
  const lines: string[] = [];
  for (const word of text.split(" ")) {
    const last = lines.at(-1);
    if (last !== undefined && widthOf(`${last} ${word}`, size) <= room) lines[lines.length - 1] = `${last} ${word}`;
    else lines.push(word);
  }
  return lines;
}

/** @param stamp what it was drawn from, for the foot. @returns one `<svg>` as text that stands alone; every word of it is escaped. */
export function drawFramed(figure: Figure, { width, stamp }: { width: number; stamp: string }): string {
  const inner = width - 2 * pad;
  const drawn = drawFigure(figure, { width: inner });
  const height = Number(/viewBox="0 0 [\d.]+ ([\d.]+)"/.exec(drawn)![1]);
  const inside = drawn.slice(drawn.indexOf(">") + 1, drawn.lastIndexOf("</svg>"));
  const out: string[] = [];
  let y = pad;
  // Bold letters are a tenth wider.
  for (const line of wrapped(figure.finding, inner / 1.1, titleSize)) {
    y += 24;
    out.push(write(pad, y - 6, line, "framed-title"));
  }
  y += 12;
  out.push(`<g transform="translate(${pad} ${px(y)})">${inside}</g>`);
  y += height + 14;
  let x = pad;
  for (const k of figure.key) {
    const wide = 24 + widthOf(k.text, keySize) + 24;
    if (x > pad && x + wide > width - pad) {
      x = pad;
      y += 22;
    }
    const shape = keyShape(k.role, k.nth);
    const mark = shape.slice(shape.indexOf(">") + 1, shape.lastIndexOf("</svg>"));
    out.push(`<g transform="translate(${px(x)} ${px(y)})">${mark}</g>`, write(x + 24, y + 13, k.text, "axt"));
    x += wide;
  }
  if (figure.key.length > 0) y += 22;
  if (stamp) {
    y += 22;
    out.push(write(pad, y - 6, stamp, "tiny"));
  }
  y += pad - 6;
  return `<svg xmlns="http://www.w3.org/2000/svg" class="drawn" viewBox="0 0 ${px(width)} ${px(y)}" width="${px(width)}" height="${px(y)}" role="img" aria-label="${escapeText(figure.finding)}"><style>${tokensCss}${figureCss}.framed-title { font-size: ${titleSize}px; font-weight: 650; }</style><rect width="${px(width)}" height="${px(y)}" style="fill: var(--paper)"/>${out.join("")}</svg>`;
}
