/** A figure near to. The plotter is large and is fetched only when asked for. */
import type { Figure } from "./figure";
import { nearOf } from "./near";

const tokens: Record<string, string> = {
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
  region: "--wash",
  paper: "--paper",
  rule: "--rule",
  edge: "--edge",
};

/** Loads the plotter and draws into `target`, or draws anew there. Esc and double click lead back to the whole figure. */
export async function showInteractive(target: HTMLElement, figure: Figure): Promise<void> {
  const { default: plotly } = await import("plotly.js-dist-min");
  const style = getComputedStyle(document.documentElement);
  const token = (name: string) => style.getPropertyValue(name).trim();
  const { traces, layout, whole } = nearOf(figure, (role) => token(tokens[role] ?? "--ink"), token("--figures"));
  await plotly.react(target, traces, layout, { displayModeBar: false, responsive: true, doubleClick: "reset" });
  target.tabIndex = 0;
  target.setAttribute("role", "group");
  target.setAttribute("aria-label", `${figure.finding}. Esc shows the whole figure again.`);
  target.onkeydown = (event) => {
    if (event.key === "Escape") void plotly.relayout(target, whole);
  };
}
