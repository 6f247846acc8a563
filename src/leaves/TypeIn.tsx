/** The table to type: across on a wide sheet, down on a phone. */
import { For, type JSX } from "solid-js";
import type { Table } from "../pipeline/table";

const unitNames: Record<string, string> = {
  percent: "%",
  USgal: "US gal",
  impgal: "imp gal",
  ohm: "Ω",
  count: "counts",
};
export const unitName = (unit: string): string => unitNames[unit] ?? unit;

export function TypeIn(props: { table: Table }): JSX.Element {
  const reading = () => `Reading, ${unitName(props.table.readingUnit)}`;
  const volume = () => `${props.table.base === "usable" ? "Usable" : "Volume"}, ${unitName(props.table.volumeUnit)}`;
  return (
    <>
      <div class="scroll across" tabindex="0" role="region" aria-label="The rows to type">
        <table class="type-in">
          <tbody>
            <tr>
              <th scope="row">{reading()}</th>
              <For each={props.table.rows}>{(r) => <td class="n">{r.typedReading}</td>}</For>
            </tr>
            <tr>
              <th scope="row">{volume()}</th>
              <For each={props.table.rows}>{(r) => <td class="n">{r.typedVolume}</td>}</For>
            </tr>
          </tbody>
        </table>
      </div>
      <table class="type-in down">
        <thead>
          <tr>
            <th class="n">row</th>
            <th class="n">{reading()}</th>
            <th class="n">{volume()}</th>
          </tr>
        </thead>
        <tbody>
          <For each={props.table.rows}>
            {(r, i) => (
              <tr>
                <td class="n">{i() + 1}</td>
                <td class="n">{r.typedReading}</td>
                <td class="n">{r.typedVolume}</td>
              </tr>
            )}
          </For>
        </tbody>
      </table>
    </>
  );
}
