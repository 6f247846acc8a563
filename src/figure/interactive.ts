/** A figure near to: plotly traces and layout from the same plain data. The plotter is large and is fetched only when asked for. */
import { axisWords } from "./axes";
import type { Figure, Series } from "./figure";

interface Trace {
  [key: string]: unknown;
}

const dashes: Partial<Record<string, string>> = {
  compare: "7px 5px",
  other: "9px 4px",
  floor: "1px 4px",
  truth: "1px 3px",
};
const symbols: Record<string, string> = {
  accepted: "circle",
  suspect: "diamond-open",
  "set-aside": "x-thin-open",
  chosen: "star",
  written: "line-ew-open",
  plain: "circle-open",
};

/** Traces of one series on panel `k` (0 the first). `colour` turns a role into a colour of the page's theme. */
export function tracesOf(series: Series, k: number, colour: (role: string) => string): Trace[] {
  const axes = { xaxis: "x", yaxis: k === 0 ? "y" : `y${k + 1}` };
  switch (series.kind) {
    case "line":
      return [
        {
          ...axes,
          type: "scatter",
          mode: "lines",
          name: series.name,
          x: series.x,
          y: series.y,
          line: {
            color: colour(series.role),
            width: series.role === "raw" ? 0.8 : 2,
            dash: dashes[series.role] ?? "solid",
            shape: series.stepped ? "hv" : "linear",
          },
        },
      ];
    case "points":
      return [
        {
          ...axes,
          type: "scatter",
          mode: "markers",
          name: series.name,
          x: series.x,
          y: series.y,
          text: series.labels?.map((l) => l ?? ""),
          marker: {
            color: colour(series.role),
            symbol: symbols[series.role] ?? "circle",
            size: 9,
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
          name: series.name,
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
          name: series.label,
          x: series.x,
          y: series.x.map(() => 0),
          marker: { symbol: "line-ns-open", size: 12, color: colour(series.role) },
        },
      ];
  }
}

/** Loads the plotter and draws into `target`. Esc and double click lead back to the whole figure. */
export async function showInteractive(target: HTMLElement, figure: Figure): Promise<void> {
  const { default: plotly } = await import("plotly.js-dist-min");
  const style = getComputedStyle(document.documentElement);
  const token = (name: string) => style.getPropertyValue(name).trim();
  const roles: Record<string, string> = {
    curve: "--hue",
    smoothed: "--hue",
    accepted: "--hue",
    plain: "--hue",
    suspect: "--doubt",
    "set-aside": "--soft",
    other: "--soft",
    floor: "--soft",
    raw: "--raw",
    limit: "--yours",
    chosen: "--yours",
    band: "--band",
  };
  const colour = (role: string) => token(roles[role] ?? "--ink");
  const shares = figure.panels.reduce((s, p) => s + p.share, 0);
  let top = 1;
  const words: Record<string, unknown>[] = [];
  const axis = (label: string, unit: string, scale: string) => ({
    title: { text: unit ? `${label}, ${unit}` : label },
    type: scale,
    gridcolor: token("--rule"),
    linecolor: token("--edge"),
    zeroline: false,
  });
  const layout: Record<string, unknown> = {
    paper_bgcolor: "transparent",
    plot_bgcolor: "transparent",
    font: { family: token("--figures"), size: 13, color: token("--ink") },
    margin: { l: 52, r: 16, t: 26, b: 52 },
    showlegend: false,
    hovermode: "closest",
    xaxis: {
      ...axis(figure.x.label, figure.x.unit, figure.x.scale),
      anchor: figure.panels.length > 1 ? `y${figure.panels.length}` : "y",
    },
  };
  figure.panels.forEach((panel, k) => {
    const height = panel.share / shares;
    layout[k === 0 ? "yaxis" : `yaxis${k + 1}`] = {
      ...axis("", "", panel.y.scale),
      domain: [Math.max(0, top - height + 0.09), top],
    };
    // Words stand over their panel: turned on end beside a low one they would run into the next.
    words.push({
      text: axisWords(panel.y),
      xref: "paper",
      yref: "paper",
      x: 0,
      y: top,
      xanchor: "left",
      yanchor: "bottom",
      showarrow: false,
    });
    top -= height;
  });
  layout.annotations = words;
  const traces = figure.panels.flatMap((panel, k) => panel.series.flatMap((s) => tracesOf(s, k, colour)));
  await plotly.newPlot(target, traces, layout, { displayModeBar: false, responsive: true, doubleClick: "reset" });
  target.tabIndex = 0;
  target.setAttribute("role", "group");
  target.setAttribute("aria-label", `${figure.finding}. Esc shows the whole figure again.`);
  target.onkeydown = (event) => {
    if (event.key === "Escape")
      void plotly.relayout(target, { "xaxis.autorange": true, "yaxis.autorange": true, "yaxis2.autorange": true });
  };
}
