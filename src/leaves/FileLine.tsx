/** One file: what was decided on reading it, in a line; its first rows before and after; every decision can be changed. */
import { createMemo, For, type JSX, Show } from "solid-js";
import { decodeText } from "../csv";
import { columnsToChoose, headersOf } from "../notebook/mappings";
import { useNotebook } from "../notebook/open-notebook";
import { rememberReading } from "../notebook/store";
import type { ColumnRole, FileReading } from "../pipeline/choices";
import { type Column, type Recording, type SourceFile, volumesAre } from "../pipeline/recording";
import { volumeUnitSigns } from "../quantity";
import { type Said, saidIn } from "../said";
import { NumberField, SelectField } from "../ui/fields";
import { unitName } from "./TypeIn";

type Kind = SourceFile["kind"];

const delimiters = [
  { value: ",", label: "commas" },
  { value: ";", label: "semicolons" },
  { value: "\t", label: "tabs" },
  { value: " ", label: "blanks" },
  { value: "|", label: "bars" },
];
const roleNames: Record<ColumnRole, string> = {
  volume: "volume",
  reading: "sender reading",
  time: "time",
  across: "acceleration across",
  along: "acceleration along",
  speed: "speed",
  flow: "fuel flow",
  supply: "supply voltage",
  marker: "pour number",
};

/** Units that a header often leaves out; what else is known is read from the header. */
const unitChoices: Partial<Record<ColumnRole, { value: string; label: string }[]>> = {
  volume: [
    { value: "L", label: "litres" },
    { value: "USgal", label: "US gallons" },
    { value: "impgal", label: "imperial gallons" },
    { value: "kg", label: "kilograms" },
  ],
  reading: [
    { value: "V", label: "volts" },
    { value: "mV", label: "millivolts" },
    { value: "ohm", label: "ohms" },
    { value: "count", label: "counts" },
  ],
  time: [
    { value: "s", label: "seconds" },
    { value: "ms", label: "milliseconds" },
    { value: "min", label: "minutes" },
  ],
  supply: [
    { value: "V", label: "volts" },
    { value: "mV", label: "millivolts" },
  ],
};

type Choosable = Pick<Column, "header" | "role" | "unit">;

/** The role that was given to a column by hand, by its name or its number from the left. */
const roleGiven = (by: FileReading, header: string, index: number): ColumnRole | null =>
  (Object.entries(by.columns ?? {}) as [ColumnRole, string][]).find(
    ([, wanted]) => wanted === header || wanted === String(index + 1),
  )?.[0] ?? null;

/** What a column is chosen by: its header; its number from the left where another has the same header. */
function keyOf(columns: Choosable[], column: Choosable | undefined): string {
  if (!column) return "";
  const namesakes = columns.filter((c) => c.header.toLowerCase() === column.header.toLowerCase());
  return namesakes.length > 1 ? String(columns.indexOf(column) + 1) : column.header;
}

export function FileLine(props: {
  file: { name: string; sha256: string; kind: Kind };
  recording: Recording | null;
  /** What a run was read as; null for a drive log, and while there is no run. */
  read?: Said | null;
}): JSX.Element {
  const book = useNotebook();
  const byHand = (): FileReading => book.notebook().readings[props.file.sha256] ?? {};
  const read = () => (props.read ? `Read as ${saidIn(props.read, book.volume())}.` : "");
  /** As the stage takes it: this file's own choice goes before the job's, and that before what the column looks like. */
  const enteredAs = () =>
    byHand().enteredAs ??
    book.notebook().job.fill?.enteredAs ??
    props.recording?.decided.enteredAs ??
    ("cumulative" as const);
  const change = (part: FileReading) => {
    const reading = { ...byHand(), ...part };
    book.edit({ edit: "read file", sha256: props.file.sha256, reading });
    const bytes = book.bytesOf(props.file.sha256);
    if (bytes) void rememberReading(headersOf(bytes, props.file.kind), reading);
  };
  const rawLines = createMemo(() => {
    const bytes = book.bytesOf(props.file.sha256);
    const first = props.recording ? (props.recording.decided.headerLine ?? 1) : 1;
    const decoded = bytes ? decodeText(bytes.subarray(0, 16_384)) : null;
    return decoded ? decoded.text.split(/\r\n|\n|\r/).slice(first - 1, first + 5) : [];
  });
  // While the file cannot be read its columns are there to choose from all the same: that may be what mends it.
  const columns = createMemo((): Choosable[] => {
    if (props.recording) return props.recording.columns;
    const bytes = book.bytesOf(props.file.sha256);
    return (bytes ? columnsToChoose(bytes, byHand()) : []).map((header, i) => ({
      header,
      role: roleGiven(byHand(), header, i),
      unit: null,
    }));
  });
  /** A run in gallons where nothing states what the page is to be in. */
  const gallons = (): "USgal" | "impgal" | null => {
    const unit = props.recording?.columns.find((c) => c.role === "volume")?.unit;
    return (unit === "USgal" || unit === "impgal") && (book.notebook().job.volumeUnit ?? null) === null ? unit : null;
  };
  return (
    <div class="file">
      <p class="small">
        <b>{props.file.name}</b>{" "}
        <Show when={props.recording} fallback="could not be read yet.">
          {(r) => (
            <>
              {r().rows} rows. {r().decided.says}{" "}
              <Show when={props.file.kind !== "drive" && r().decided.enteredAs}>
                Volumes {volumesAre[props.file.kind === "drain" ? "drain" : "fill"][enteredAs()]}.{" "}
              </Show>
              <span class="screen">{read()}</span>
            </>
          )}
        </Show>{" "}
        <button
          type="button"
          class="word"
          onClick={() => book.edit({ edit: "remove file", sha256: props.file.sha256 })}
        >
          Take it out<span class="out-of-sight">, {props.file.name}</span>
        </button>
      </p>
      <Show when={gallons()}>
        {(unit) => (
          <p class="small screen">
            Its volumes are in {volumeUnitSigns[unit()]}, this page is in litres.{" "}
            <button
              type="button"
              class="word"
              onClick={() => book.edit({ edit: "job", path: ["volumeUnit"], value: unit(), label: "volumes in" })}
            >
              Turn the page to {volumeUnitSigns[unit()]}
            </button>
          </p>
        )}
      </Show>
      <details>
        <summary>
          <b>Read it another way</b> marks, columns, units; the first rows before and after
        </summary>
        <div>
          <div class="columns">
            <SelectField
              label="Columns are parted by"
              value={props.recording?.decided.delimiter ?? byHand().delimiter ?? ","}
              options={delimiters}
              onChange={(delimiter) => change({ delimiter })}
            />
            <SelectField
              label="The decimal mark is a"
              value={props.recording?.decided.decimal ?? byHand().decimal ?? "."}
              options={[
                { value: ".", label: "point" },
                { value: ",", label: "comma" },
              ]}
              onChange={(decimal) => change({ decimal })}
            />
            <NumberField
              label="The header stands in line"
              value={props.recording?.decided.headerLine ?? null}
              hint="none"
              onChange={(headerRow) => change({ headerRow })}
            />
            <Show when={props.file.kind !== "drive"}>
              <SelectField
                label="Volumes are"
                value={enteredAs()}
                options={[
                  {
                    value: "added",
                    label: props.file.kind === "drain" ? "drawn with each draw" : "added with each pour",
                  },
                  { value: "cumulative", label: props.file.kind === "drain" ? "drawn in all" : "counted up" },
                ]}
                onChange={(enteredAs) => change({ enteredAs })}
              />
            </Show>
            <For
              each={
                (props.file.kind === "drive"
                  ? ["time", "reading", "across", "along", "speed", "flow", "supply"]
                  : ["volume", "reading", "time", "supply"]) as ColumnRole[]
              }
            >
              {(role) => {
                const column = () => columns().find((c) => c.role === role);
                return (
                  <>
                    <SelectField
                      label={`The ${roleNames[role]} is`}
                      value={keyOf(columns(), column())}
                      options={[
                        { value: "", label: "not there" },
                        ...columns().map((c, i) => {
                          const value = keyOf(columns(), c);
                          return { value, label: value === c.header ? c.header : `${c.header}, column ${i + 1}` };
                        }),
                      ]}
                      onChange={(header) => {
                        change({ columns: { ...byHand().columns, [role]: header } });
                      }}
                    />
                    <Show when={column() && unitChoices[role]}>
                      {(choices) => (
                        <SelectField
                          label={`The ${roleNames[role]} is in`}
                          value={byHand().units?.[role] ?? ""}
                          options={[
                            { value: "", label: column()?.unit ? `${unitName(column()!.unit!)}, as read` : "not said" },
                            ...choices(),
                          ]}
                          onChange={(unit) => {
                            const { [role]: _before, ...others } = byHand().units ?? {};
                            change({ units: unit === "" ? others : { ...others, [role]: unit } });
                          }}
                        />
                      )}
                    </Show>
                  </>
                );
              }}
            </For>
          </div>
          <Show when={Object.keys(byHand()).length > 0}>
            <p>
              <button
                type="button"
                class="word"
                onClick={() => book.edit({ edit: "read file", sha256: props.file.sha256, reading: null })}
              >
                Leave it to the reader again
              </button>
            </p>
          </Show>
          <Show when={rawLines().length > 0}>
            <p class="small">As it stands in the file:</p>
            <section class="scroll" tabindex="0" aria-label={`${props.file.name}, first lines as they stand`}>
              <pre class="table-text">{rawLines().join("\n")}</pre>
            </section>
          </Show>
          <Show when={props.recording}>
            {(r) => (
              <>
                <p class="small">As it was read:</p>
                <section class="scroll" tabindex="0" aria-label={`${props.file.name}, first rows as read`}>
                  <table>
                    <thead>
                      <tr>
                        <For each={r().columns}>
                          {(c) => (
                            <th class="number">
                              {c.header}
                              <br />
                              {c.role ? `${roleNames[c.role]}${c.unit ? `, ${c.unit}` : ""}` : "not used"}
                            </th>
                          )}
                        </For>
                      </tr>
                    </thead>
                    <tbody>
                      <For each={Array.from({ length: Math.min(5, r().rows) }, (_, i) => i)}>
                        {(i) => (
                          <tr>
                            <For each={r().columns}>
                              {(c) => (
                                <td class="number">{c.valid[i] ? String(Number(c.values[i]!.toPrecision(8))) : ""}</td>
                              )}
                            </For>
                          </tr>
                        )}
                      </For>
                    </tbody>
                  </table>
                </section>
              </>
            )}
          </Show>
        </div>
      </details>
    </div>
  );
}
