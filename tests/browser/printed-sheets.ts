/** How far down the sheets of a printed page are written, read from the PDF itself. */
import { inflateSync } from "node:zlib";

export interface Sheet {
  /** CSS pixels that the sheet's text area is wide: more than A4 holds where the browser has shrunk everything to make too wide a page fit. */
  width_px: number;
  /** Share of the text area's height down to the last line of words; foot lines do not count. */
  filled: number;
}

/** @param pdf as the browser prints it: plain objects, content streams deflated. @returns one a sheet, in order. */
export function printedSheets(pdf: Buffer): Sheet[] {
  const text = pdf.toString("latin1");
  const objects = new Map(
    [...text.matchAll(/(?:^|\n)(\d+) 0 obj\b/g)].map((m) => [Number(m[1]), m.index + m[0].length] as const),
  );
  const object = (n: number): string => {
    const from = objects.get(n);
    if (from === undefined) throw new Error(`printedSheets: the PDF has no object ${n}`);
    return text.slice(from, text.indexOf("endobj", from));
  };
  const numberAfter = (key: string, n: number) => Number(new RegExp(`/${key} (\\d+)`).exec(object(n))![1]);
  // Pages hang in a tree, eight to a branch.
  const pagesUnder = (n: number): number[] => {
    const kids = /\/Kids \[([^\]]*)\]/.exec(object(n))?.[1];
    return kids === undefined ? [n] : [...kids.matchAll(/(\d+) 0 R/g)].flatMap((m) => pagesUnder(Number(m[1])));
  };
  const root = [...objects.keys()].find((n) => /\/Type \/Catalog\b/.test(object(n)));
  if (root === undefined) throw new Error("printedSheets: the PDF has no catalogue");
  return pagesUnder(numberAfter("Pages", root)).map((page) => {
    const content = numberAfter("Contents", page);
    const begin = text.indexOf("stream\n", objects.get(content)!) + "stream\n".length;
    const length = numberAfter("Length", content);
    return sheetIn(inflateSync(pdf.subarray(begin, begin + length)).toString("latin1"));
  });
}

/** Follows scale and place through `q`, `Q` and `cm`; the first rectangle is the text area. All is drawn upright, downwards. */
function sheetIn(content: string): Sheet {
  let here = { scale: 1, down: 0 };
  const kept: (typeof here)[] = [];
  let area: { top: number; height: number; width_px: number } | null = null;
  let lowest = 0;
  for (const line of content.split("\n")) {
    const words = line.split(" ");
    const n = words.map(Number);
    switch (words.at(-1)) {
      case "q":
        kept.push(here);
        break;
      case "Q":
        here = kept.pop()!;
        break;
      case "cm":
        here = { scale: here.scale * n[3]!, down: here.down + here.scale * n[5]! };
        break;
      case "re":
        area ??= { top: here.down + here.scale * n[1]!, height: Math.abs(here.scale * n[3]!), width_px: n[2]! };
        break;
      case "Tm": {
        // Down from the top of the text area, in points: the page itself is drawn upside down.
        const y = area ? Math.abs(here.down + here.scale * n[5]! - area.top) : 0;
        if (area && y <= area.height) lowest = Math.max(lowest, y);
      }
    }
  }
  if (!area) throw new Error("printedSheets: the sheet has no text area");
  return { width_px: area.width_px, filled: lowest / area.height };
}
