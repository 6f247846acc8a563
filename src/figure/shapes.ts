/** Shapes: the marks and small strokes that figures, keys and tables share, as SVG text. */
import type { Figure, PointRole, Role } from "./figure";

export const escapeText = (text: string): string =>
  text
    .replace(/&/g, "&amp;")
    .replace(/</g, "&lt;")
    .replace(/>/g, "&gt;")
    .replace(/"/g, "&quot;")
    .replace(/'/g, "&#39;");

/** One decimal is a tenth of a pixel: finer is not seen and makes the file longer. */
export const px = (v: number): string => {
  const text = v.toFixed(1);
  return text.endsWith(".0") ? text.slice(0, -2).replace(/^-0$/, "0") : text;
};

export const stroke = (x1: number, y1: number, x2: number, y2: number, cls: string): string =>
  `<line class="${cls}" x1="${px(x1)}" y1="${px(y1)}" x2="${px(x2)}" y2="${px(y2)}"/>`;

export const write = (
  x: number,
  y: number,
  text: string,
  cls = "lab",
  anchor: "start" | "middle" | "end" = "start",
): string => `<text class="${cls}" x="${px(x)}" y="${px(y)}" text-anchor="${anchor}">${escapeText(text)}</text>`;

/** The mark of a step: accepted a disc, suspect an open diamond, set aside a saltire, chosen the pencil's tick. */
export function shape(x: number, y: number, role: PointRole, r = 4.6): string {
  switch (role) {
    case "accepted":
      return `<circle class="accepted" cx="${px(x)}" cy="${px(y)}" r="${r}"/>`;
    case "plain":
      return `<circle class="plain" cx="${px(x)}" cy="${px(y)}" r="${r * 0.72}"/>`;
    case "suspect": {
      const k = r * 1.62;
      return `<path class="suspect" d="M${px(x)} ${px(y - k)}L${px(x + k)} ${px(y)}L${px(x)} ${px(y + k)}L${px(x - k)} ${px(y)}Z"/>`;
    }
    case "set-aside":
      return `<path class="set-aside" d="M${px(x - r)} ${px(y - r)}L${px(x + r)} ${px(y + r)}M${px(x - r)} ${px(y + r)}L${px(x + r)} ${px(y - r)}"/>`;
    case "written":
      return stroke(x - 11, y, x + 11, y, "written");
    case "chosen": {
      const tick = `M${px(x - 6)} ${px(y - 7)}l6 7l12 -17`;
      return `<path class="chosen under" d="${tick}"/><path class="chosen" d="${tick}"/>`;
    }
  }
}

/** A drawing-office dimension: a thin line with a small bar at either end. */
export function dimension(x1: number, y1: number, x2: number, y2: number): string {
  const upright = Math.abs(x1 - x2) < 1;
  const e = 5;
  const end = (x: number, y: number) =>
    upright ? stroke(x - e, y, x + e, y, "dim") : stroke(x, y - e, x, y + e, "dim");
  return stroke(x1, y1, x2, y2, "dim") + end(x1, y1) + end(x2, y2);
}

/** Lines beside each other with the role `other` have so many strokes of their own, then the first again: `.o0` and on in `theme.ts`. */
export const otherStrokes = 4;

/** Class of a line: of the `other` ones, the stroke of the nth. */
export const lineClass = (role: Role, nth: number): string =>
  role === "other" ? `other o${nth % otherStrokes}` : role;

/** The small drawing that stands in a key or a table cell for a role. @param nth which of the lines with this role, from 0. */
export function keyShape(role: Figure["key"][number]["role"], nth = 0): string {
  const box = (inside: string) =>
    `<svg class="key-mark" viewBox="0 0 16 16" aria-hidden="true" focusable="false">${inside}</svg>`;
  switch (role) {
    case "accepted":
    case "suspect":
    case "set-aside":
    case "plain":
      return box(shape(8, 8, role, 4.4));
    case "chosen":
      return box(`<path class="chosen" d="M2 8l4 5l8 -11"/>`);
    case "written":
      return box(stroke(1, 8, 15, 8, "written"));
    case "band":
      return box(`<rect class="band" x="1" y="3" width="14" height="10"/>`);
    default:
      return box(stroke(0, 8, 16, 8, lineClass(role, nth)));
  }
}
