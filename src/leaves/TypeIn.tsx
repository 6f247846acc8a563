/** The table to type: across on a wide sheet, in lines of at most eight rows; down on a phone. */
import { For, type JSX } from "solid-js";
import type { Table } from "../pipeline/table";
import { linesOf } from "../pipeline/words/table";

const unitNames: Record<string, string> = {
  percent: "%",
  USgal: "US gal",
  impgal: "imp gal",
  ohm: "Ω",
  count: "counts",
};
export const unitName = (unit: string): string => unitNames[unit] ?? unit;

const rowsNamed = (from: number, to: number): string => `Rows ${from} to ${to}, to type in`;

export function TypeIn(props: { table: Table }): JSX.Element {
  const reading = () => `Reading, ${unitName(props.table.readingUnit)}`;
  const volume = () => `${props.table.base === "usable" ? "Usable" : "Volume"}, ${unitName(props.table.volumeUnit)}`;
  const each = () => linesOf(props.table.rows)[0]?.length ?? 0;
  return (
    <>
      <For each={linesOf(props.table.rows)}>
        {(line, at) => (
          <table class="type-in across" aria-label={rowsNamed(at() * each() + 1, at() * each() + line.length)}>
            <tbody>
              <tr>
                <th scope="row">{reading()}</th>
                <For each={line}>{(r) => <td class="number">{r.typedReading}</td>}</For>
                <For each={Array(each() - line.length).fill(0)}>{() => <td />}</For>
              </tr>
              <tr>
                <th scope="row">{volume()}</th>
                <For each={line}>{(r) => <td class="number">{r.typedVolume}</td>}</For>
                <For each={Array(each() - line.length).fill(0)}>{() => <td />}</For>
              </tr>
            </tbody>
          </table>
        )}
      </For>
      <table class="type-in down" aria-label={rowsNamed(1, props.table.rows.length)}>
        <thead>
          <tr>
            <th class="number">row</th>
            <th class="number">{reading()}</th>
            <th class="number">{volume()}</th>
          </tr>
        </thead>
        <tbody>
          <For each={props.table.rows}>
            {(r, i) => (
              <tr>
                <td class="number">{i() + 1}</td>
                <td class="number">{r.typedReading}</td>
                <td class="number">{r.typedVolume}</td>
              </tr>
            )}
          </For>
        </tbody>
      </table>
    </>
  );
}
