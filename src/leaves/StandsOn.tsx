/** Printed last: what the sheet stands on, and the doubt in every foot line. */
import { For, type JSX, Show } from "solid-js";
import { valueIn } from "../answer";
import { useNotebook } from "../notebook/open-notebook";
import { titleOf } from "./take-away";

const kindNames = { fill: "fill run", drain: "drain run", drive: "drive log" } as const;

/** Text inside a CSS string: everything but plain letters, digits and blanks by its code. */
const escapeCss = (text: string): string =>
  text.replace(/[^A-Za-z0-9 ,.]/g, (c) => `\\${c.codePointAt(0)!.toString(16).padStart(6, "0")}`);

export function StandsOn(): JSX.Element {
  const book = useNotebook();
  const files = () => {
    const n = book.notebook();
    return [...n.fills, ...n.drives.map((d) => ({ ...d, kind: "drive" as const }))];
  };
  const open = () => valueIn(book.answers.suspectSteps())?.notConfirmed ?? 0;
  const foot = () =>
    `${titleOf(book) || "A tank without a name"}. ${
      open() > 0
        ? `On trial: ${open()} ${open() === 1 ? "decision" : "decisions"} not confirmed.`
        : "No decision is left open."
    }`;
  const when = (iso: string) => new Date(iso).toLocaleString();
  return (
    <section class="stands-on for-print">
      <style>{`@page { @bottom-left { content: "${escapeCss(foot())}"; font: 8pt Overpass, sans-serif; color: #3c3c3c; } }`}</style>
      <Show when={files().length > 0}>
        <h2>What all this stands on</h2>
        <table class="wide-table">
          <thead>
            <tr>
              <th>brought in</th>
              <th>what</th>
              <th>SHA-256</th>
            </tr>
          </thead>
          <tbody>
            <For each={files()}>
              {(f) => (
                <tr>
                  <td>{f.name}</td>
                  <td>{kindNames[f.kind]}</td>
                  <td class="hash">{f.sha256}</td>
                </tr>
              )}
            </For>
          </tbody>
        </table>
      </Show>
      <Show when={book.notebook().decisions.length > 0}>
        <table class="wide-table">
          <thead>
            <tr>
              <th>decided by hand</th>
              <th>why</th>
              <th>when</th>
            </tr>
          </thead>
          <tbody>
            <For each={book.notebook().decisions}>
              {(d) => (
                <tr>
                  <td>{d.what}</td>
                  <td>{d.why}</td>
                  <td>{when(d.at)}</td>
                </tr>
              )}
            </For>
          </tbody>
        </table>
      </Show>
    </section>
  );
}
