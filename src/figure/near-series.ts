/** Traces of a series for the interactive plotter. */
import type { Series } from "./figure";
import { axisNames, type ColourOf, dashOf, type Plain, plain } from "./near-parts";

const symbols: Record<string, string> = {
  accepted: "circle",
  suspect: "diamond-open",
  "set-aside": "x-thin-open",
  chosen: "star",
  written: "line-ew-open",
  plain: "circle-open",
};

/** Traces of one series on panel `k` (0 the first); `nth` its place among those of its kind and role: a rug's level, a line's stroke. */
export function tracesOf(series: Series, k: number, colour: ColourOf, nth = 0): Plain[] {
  const axes = axisNames(k);
  switch (series.kind) {
    case "line":
      return [
        {
          ...axes,
          type: "scatter",
          mode: "lines",
          name: plain(series.name),
          x: series.x,
          y: series.y,
          line: {
            color: colour(series.role),
            width: series.role === "raw" ? 0.8 : 2,
            dash: dashOf(series.role, nth),
            shape: series.stepped ? "hv" : "linear",
          },
        },
      ];
    case "points":
      return [
        {
          ...axes,
          type: "scatter",
          mode: series.labels?.some((l) => l) ? "markers+text" : "markers",
          name: plain(series.name),
          x: series.x,
          y: series.y,
          text: series.labels?.map((l) => plain(l ?? "")),
          textposition: "bottom right",
          cliponaxis: false,
          marker: {
            color: colour(series.role),
            symbol: symbols[series.role] ?? "circle",
            size: series.role === "suspect" ? 13 : 9,
            line: { width: 2, color: colour(series.role) },
          },
          ...(series.lower && series.upper
            ? {
                error_y: {
                  type: "data",
                  symmetric: false,
                  array: series.upper.map((u, i) => u - series.y[i]!),
                  arrayminus: series.lower.map((l, i) => series.y[i]! - l),
                  color: colour(series.role),
                  thickness: 1.5,
                  width: 0,
                },
              }
            : {}),
        },
      ];
    case "band":
      return [
        {
          ...axes,
          type: "scatter",
          mode: "lines",
          x: series.x,
          y: series.lower,
          line: { width: 0 },
          hoverinfo: "skip",
          showlegend: false,
        },
        {
          ...axes,
          type: "scatter",
          mode: "lines",
          name: plain(series.name),
          x: series.x,
          y: series.upper,
          line: { width: 0 },
          fill: "tonexty",
          fillcolor: colour("band"),
          hoverinfo: "skip",
        },
      ];
    case "rug":
      return [
        {
          ...axes,
          type: "scatter",
          mode: "markers",
          name: plain(series.label),
          x: series.x,
          y: series.x.map(() => -nth),
          marker: { symbol: "line-ns-open", size: 12, color: colour(series.role) },
        },
      ];
  }
}
