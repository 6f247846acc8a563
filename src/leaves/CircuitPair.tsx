/** Engine off against running: two readings with the same fuel, and the supply at both if it was measured. */
import { For, type JSX } from "solid-js";
import { useNotebook } from "../notebook/open-notebook";
import { NumberField } from "../ui/fields";
import { enginePairFields } from "./job-fields";

export function CircuitPair(props: { unit: string }): JSX.Element {
  const book = useNotebook();
  const stated = (path: string): unknown =>
    path
      .split(".")
      .reduce<unknown>((o, k) => (o as Record<string, unknown> | null | undefined)?.[k], book.notebook().job);
  const half = () => {
    const [off, running] = enginePairFields.map((f) => (stated(f.path) ?? null) === null);
    return off !== running;
  };
  return (
    <details class="job-group" classList={{ screen: enginePairFields.every((f) => (stated(f.path) ?? null) === null) }}>
      <summary>
        <b>Does the running engine move the reading?</b> Same fuel, one reading with the engine off, one with it running
      </summary>
      <div>
        <For each={enginePairFields}>
          {(field) => (
            <NumberField
              label={field.label}
              unit={field.unit ?? props.unit}
              value={(stated(field.path) as number | null | undefined) ?? null}
              hint=""
              onChange={(value) =>
                book.edit({ edit: "job", path: field.path.split("."), value, label: field.label.toLowerCase() })
              }
            />
          )}
        </For>
        <p class="small" aria-live="polite">
          {half() ? "The other reading is still to come, with the same fuel in the tank: one alone tells nothing." : ""}
        </p>
      </div>
    </details>
  );
}
