/** From knots on readings to breakpoints between them: each is tried on the readings and in the gaps near it, alone and with its neighbour. */
import { type CellFit, solveCell } from "./piecewise-cell";
import type { Found, Walk } from "./piecewise-cells";
import { betterThan } from "./piecewise-products";

/** How a breakpoint is held: 0 anywhere in its gap, 1 on the gap's lower reading. */
interface Stand {
  gap: number;
  hold: 0 | 1;
}

/** Local optimum over cells from knots on readings. */
export function polishKnots(walk: Walk, knots: number[]): Found | null {
  const { products, least } = walk;
  const d = products.places.length;
  const allowed = (s: Stand[]) =>
    s.every((t, j) => t.gap >= least - 1 && t.gap <= d - 1 - least && (j === 0 || t.gap - s[j - 1]!.gap >= least));
  const value = (s: Stand[], below: number): CellFit | null =>
    allowed(s)
      ? solveCell(
          products,
          s.map((t) => t.gap),
          below,
          s.map((t) => t.hold),
        )
      : null;
  let now: Stand[] = knots.map((gap) => ({ gap, hold: 1 }));
  let best = value(now, Number.POSITIVE_INFINITY);
  if (!best) return null;
  const tryAll = (change: (list: Stand[]) => Stand[] | null): boolean => {
    const list = change(now.map((t) => ({ ...t })));
    const fit = list && value(list, betterThan(best!.sse, products));
    if (!fit) return false;
    best = fit;
    now = list;
    return true;
  };
  const moves = [-2, -1, 0, 1, 2].flatMap((shift) => ([0, 1] as const).map((hold) => ({ shift, hold })));
  const moved = (list: Stand[], j: number, move: { shift: number; hold: 0 | 1 }) => {
    list[j] = { gap: list[j]!.gap + move.shift, hold: move.hold };
    return list;
  };
  for (let again = true; again; ) {
    again = false;
    for (let j = 0; j < now.length; j++)
      for (const a of moves) {
        if (tryAll((list) => moved(list, j, a))) again = true;
        if (j + 1 < now.length && Math.abs(a.shift) < 2)
          for (const b of moves)
            if (Math.abs(b.shift) < 2 && tryAll((list) => moved(moved(list, j, a), j + 1, b))) again = true;
      }
  }
  // All corners free in the cells reached; those on a reading may lie in the gap before it as well.
  const gaps = now.map((t) => t.gap);
  return { ...best, gaps };
}
