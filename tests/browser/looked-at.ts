/** What is looked at on an open page: its published figures, what axe finds, what stands over its edge. */
import AxeBuilder from "@axe-core/playwright";
import type { Page } from "playwright-core";
import type { Shown } from "./analysis-of-example";

export const shownOn = (page: Page): Promise<Shown[]> =>
  page.$$eval("[data-path]", (list) =>
    list.map((e) => ({
      path: e.getAttribute("data-path")!,
      value: e.getAttribute("data-value"),
      text: e.textContent ?? "",
      sizeOnly: e.hasAttribute("data-size-only"),
      times: Number(e.getAttribute("data-times") ?? 1),
    })),
  );

/** What axe finds on the page as it stands; what a closed part hides is not rendered, and is not judged by it either. */
export async function axeFinds(page: Page, what: { within?: string; rules?: string[] } = {}): Promise<string[]> {
  const axe = new AxeBuilder({ page });
  if (what.within) axe.include(what.within);
  if (what.rules) axe.withRules(what.rules);
  const { violations } = await axe.analyze();
  return violations.map(
    (v) =>
      `${v.id}: ${v.nodes
        .slice(0, 3)
        .map((n) => `${n.html.slice(0, 160)} ${n.failureSummary}`)
        .join(" | ")}`,
  );
}

/** What is wider than the page: a reader on a phone would have to push the sheet to and fro. */
export const standsOut = (page: Page): Promise<string[]> =>
  page.evaluate(() =>
    document.documentElement.scrollWidth <= innerWidth
      ? []
      : [...document.querySelectorAll("body *")]
          .filter((e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".scroll, svg"))
          .slice(0, 4)
          .map((e) => `wider than the page: ${e.outerHTML.slice(0, 120)}`),
  );
