/** Marks of a figure for the interactive plotter. */
import type { Mark } from "./figure";
import { axisNames, type ColourOf, dashOf, type Plain, plain } from "./near-parts";

/** One mark: the lines that it draws, and its words. */
export function markOf(mark: Mark, k: number, colour: ColourOf): { traces: Plain[]; shapes: Plain[]; words: Plain[] } {
  const { xaxis: xref, yaxis: yref } = axisNames(k);
  const word = (at: Plain): Plain[] =>
    mark.text === "" ? [] : [{ xref, yref, text: plain(mark.text), showarrow: false, bgcolor: colour("paper"), ...at }];
  const role = "role" in mark ? mark.role : "shown";
  const line = { color: colour(role), width: 1.5, dash: dashOf(role) };
  switch (mark.kind) {
    case "gap":
    case "gap-x": {
      const upright = mark.kind === "gap";
      const ends = [mark.from, mark.to];
      const middle = (mark.from + mark.to) / 2;
      return {
        traces: [
          {
            ...axisNames(k),
            type: "scatter",
            mode: "lines+markers",
            name: plain(mark.text),
            x: upright ? [mark.x, mark.x] : ends,
            y: upright ? ends : [mark.y, mark.y],
            line: { color: colour("shown"), width: 1.1 },
            marker: {
              symbol: upright ? "line-ew-open" : "line-ns-open",
              size: 10,
              color: colour("shown"),
              line: { width: 1.1, color: colour("shown") },
            },
            hoverinfo: "name",
          },
        ],
        shapes: [],
        words: word(
          upright
            ? { x: mark.x, y: middle, xanchor: "left", xshift: 6 }
            : { x: middle, y: mark.y, yanchor: "bottom", yshift: 2 },
        ),
      };
    }
    case "vertical":
      return {
        traces: [],
        shapes: [{ type: "line", xref, yref: `${yref} domain`, x0: mark.x, x1: mark.x, y0: 0, y1: 1, line }],
        words: word({ x: mark.x, y: 1, yref: `${yref} domain`, xanchor: "left", yanchor: "top", xshift: 4 }),
      };
    case "horizontal":
      return {
        traces: [],
        shapes: [{ type: "line", xref: `${xref} domain`, yref, x0: 0, x1: 1, y0: mark.y, y1: mark.y, line }],
        words: word({ x: 0, xref: `${xref} domain`, y: mark.y, xanchor: "left", yanchor: "bottom", xshift: 6 }),
      };
    case "region":
      return {
        traces: [],
        shapes: [
          {
            type: "rect",
            layer: "below",
            xref,
            yref: `${yref} domain`,
            x0: mark.from,
            x1: mark.to,
            y0: 0,
            y1: 1,
            fillcolor: colour("region"),
            line: { width: 0 },
          },
        ],
        words: word({ x: (mark.from + mark.to) / 2, y: 1, yref: `${yref} domain`, yanchor: "top" }),
      };
    case "text":
      return { traces: [], shapes: [], words: word({ x: mark.x, y: mark.y, xanchor: "left", yanchor: "top" }) };
  }
}
