/** Job: fields for what the technician states. A field left empty takes a named default, which the working lists. */
import { For, type JSX, Show } from "solid-js";
import { useNotebook } from "../notebook/open-notebook";
import { jobFinding, jobWorking } from "../pipeline/words/job";
import { inVolume } from "../pipeline/words/volume";
import { statedIn, type VolumeWords } from "../quantity";
import { NumberField, Options, SelectField, TextField } from "../ui/fields";
import { FoundTable } from "./FoundTable";
import { type Field, groups, undoName } from "./job-fields";
import { Leaf } from "./Leaf";

export function JobLeaf(props: { number: number }): JSX.Element {
  const book = useNotebook();
  const stated = (path: string): unknown =>
    path
      .split(".")
      .reduce<unknown>((o, k) => (o as Record<string, unknown> | null | undefined)?.[k], book.notebook().job);
  const assumed = (path: string) => {
    const job = book.answers.job();
    return job.state === "ready" ? job.value.assumed.find((a) => a.path === path)?.value : undefined;
  };
  /** Unit of the display, as its settings are typed. */
  const shownUnit = (): string => {
    const job = book.answers.job();
    return job.state === "ready"
      ? { percent: "%", USgal: "US gal", impgal: "imp gal", L: "L" }[job.value.device.displayUnit]
      : "";
  };
  const deadbandUnit = (): string => {
    const unit = book.notebook().job.device?.deadband?.unit ?? "L";
    return unit === "percent" ? "%" : unit;
  };
  const set = (field: Field, value: unknown, tick?: string) =>
    book.edit({ edit: "job", path: field.path.split("."), value, label: undoName(field, tick) });
  const ticked = (field: Field): string[] => (stated(field.path) as string[] | null | undefined) ?? [];
  /** The unit of a field that is kept in litres; null for all others. */
  const volumeOf = (field: Field): VolumeWords | null => (field.unit === "L" ? statedIn(book.volume()) : null);
  const value = (field: Field): number | null => {
    const kept = stated(field.path);
    const volume = volumeOf(field);
    return volume && typeof kept === "number" ? inVolume(kept, volume) : scaled(kept, field.times ?? 1);
  };
  const times = (field: Field): number => field.times ?? 1 / (volumeOf(field)?.litres ?? 1);
  const hint = (field: Field): string => {
    const value = assumed(field.path);
    if (typeof value === "number") return String(Number((value * times(field)).toPrecision(4)));
    return "";
  };
  return (
    <Leaf
      number={props.number}
      name="job"
      title="job"
      question="What is fitted, and how good must it be?"
      stage="job"
      answer={book.answers.job()}
      finding={jobFinding}
      working={jobWorking}
      blocks={["job", "assumed", "inputs"]}
      always={
        <div class="columns">
          <For each={groups}>
            {(group) => (
              <details class="job-group" data-group={group.title} open={group.open ?? false}>
                <summary>
                  <b>{group.title}</b>{" "}
                  {count(group.fields.filter((f) => (stated(f.path) ?? null) !== null).length, group.fields.length)}
                </summary>
                <div>
                  <For each={group.fields}>
                    {(field) => (
                      <Show
                        when={field.options}
                        fallback={
                          <Show
                            when={field.text || field.rows || field.ticks}
                            fallback={
                              <NumberField
                                label={field.label}
                                unit={
                                  volumeOf(field)?.sign ??
                                  field.unit ??
                                  (field.shownUnit ? shownUnit() : field.deadbandUnit ? deadbandUnit() : "")
                                }
                                value={value(field)}
                                hint={hint(field)}
                                onChange={(v) => set(field, v === null ? null : v / times(field))}
                              />
                            }
                          >
                            <Show when={field.rows}>
                              <FoundTable label={field.label} />
                            </Show>
                            <Show when={field.text}>
                              <TextField
                                label={field.label}
                                value={String(stated(field.path) ?? "")}
                                onChange={(v) => set(field, v || null)}
                              />
                            </Show>
                            <Show when={field.ticks}>
                              {(ticks) => (
                                <Options
                                  title={field.label}
                                  costs="tick what it has"
                                  options={ticks().map(({ value, label }) => ({
                                    label,
                                    cost: "",
                                    set: ticked(field).includes(value),
                                    take: () => set(field, toggled(ticks(), ticked(field), value), value),
                                  }))}
                                />
                              )}
                            </Show>
                          </Show>
                        }
                      >
                        {(options) => (
                          <SelectField
                            label={field.label}
                            value={String(stated(field.path) ?? "")}
                            options={[{ value: "", label: "not stated" }, ...options()]}
                            onChange={(v) =>
                              set(field, v === "" ? null : v === "true" ? true : v === "false" ? false : v)
                            }
                          />
                        )}
                      </Show>
                    )}
                  </For>
                </div>
              </details>
            )}
          </For>
        </div>
      }
    />
  );
}

/** The ticked ones with one of them turned over, in the order in which they are asked. */
const toggled = (all: { value: string }[], ticked: string[], one: string): string[] =>
  all.map((t) => t.value).filter((v) => ticked.includes(v) !== (v === one));

const count = (stated: number, all: number): string =>
  stated === all ? "all stated" : stated === 0 ? "nothing stated" : `${stated} of ${all} stated`;

const scaled = (value: unknown, times: number): number | null =>
  typeof value === "number" ? Number((value * times).toPrecision(12)) : null;
