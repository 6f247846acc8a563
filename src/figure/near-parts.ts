/** What traces, marks and words of the interactive plotter share. */
export interface Plain {
  [key: string]: unknown;
}
/** A colour of the page's theme for a role, `region`, `paper`, `ink`, `rule`, `edge` or `band`. */
export type ColourOf = (role: string) => string;

const dashes: Partial<Record<string, string>> = {
  compare: "7px 5px",
  floor: "1px 4px",
  truth: "1px 3px",
};
/** Strokes of lines beside each other with the role `other`, in the order of `.o0` and on in `theme.ts`. */
const otherDashes = ["solid", "9px 4px", "4px 3px", "2px 4px"];
export const dashOf = (role: string, nth = 0): string =>
  role === "other" ? otherDashes[nth % otherDashes.length]! : (dashes[role] ?? "solid");

/** The plotter reads a few HTML tags in its words: a word from outside stays a word. */
export const plain = (text: string): string =>
  text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;");

export const axisNames = (k: number) => ({ xaxis: "x", yaxis: k === 0 ? "y" : `y${k + 1}` });
