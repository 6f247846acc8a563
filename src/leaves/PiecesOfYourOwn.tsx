/** Straight pieces of one's own: kinks typed and locked, more looked for beside them, pieces held flat. */
import { createEffect, createSignal, type JSX, on, Show } from "solid-js";
import { setText } from "../format";
import { useNotebook } from "../notebook/open-notebook";
import type { Choices } from "../pipeline/choices";
import { asksForPieces } from "../pipeline/curve-typed";
import { NumberField, TextField } from "../ui/fields";
import { numbersIn } from "./typed-cells";

export function PiecesOfYourOwn(props: { unit: string }): JSX.Element {
  const book = useNotebook();
  const [wrong, setWrong] = createSignal<string | null>(null);
  const choice = () => book.notebook().choices.curve;
  // What was refused is forgotten once something else is chosen, here or beside it.
  createEffect(on(choice, () => setWrong(null), { defer: true }));
  const take = (change: Partial<Choices["curve"]>, label: string) => {
    const next = { ...choice(), shape: null, ...change };
    const none = !next.knots && !next.free && !next.flat?.length;
    book.edit({ edit: "choose", key: "curve", value: none ? { shape: null, knots: null } : next, label });
  };
  const typed = (text: string, allowed: (v: number) => boolean, says: string, then: (list: number[]) => void) => {
    const list = numbersIn(text);
    const good = list?.every(allowed) ? list : null;
    setWrong(good ? null : says);
    if (good) then(good);
  };
  return (
    <div class="fields" classList={{ screen: !asksForPieces(choice()) }}>
      <TextField
        label={`Kinks of your own, ${props.unit}`}
        value={(choice().knots ?? []).map((k) => setText(k, "", 6)).join("  ")}
        onChange={(text) =>
          typed(
            text,
            () => true,
            "Kinks are readings, with blanks between them.",
            (list) =>
              take(
                { knots: list.length > 0 ? list.sort((a, b) => a - b) : null },
                list.length > 0 ? "type kinks" : "take the kinks out",
              ),
          )
        }
      />
      <NumberField
        label="more that fit best"
        value={choice().free || null}
        hint="0"
        onChange={(v) => {
          const good = v === null || v === 0 || v === 1 || v === 2;
          setWrong(good ? null : "One or two more can be looked for.");
          if (good) take({ free: v ?? 0 }, "look for more kinks");
        }}
      />
      <TextField
        label="Flat pieces"
        value={(choice().flat ?? []).join("  ")}
        onChange={(text) =>
          typed(
            text,
            (v) => Number.isInteger(v) && v > 0,
            "Pieces are counted 1, 2, 3.",
            (flat) => take({ flat }, "hold pieces flat"),
          )
        }
      />
      <p class="small">
        A kink is the reading where two straight pieces meet. Pieces count 1, 2, 3 from the lowest reading; one held
        flat lies between typed kinks.
      </p>
      <Show when={wrong()}>
        <p class="caution" role="alert">
          {wrong()}
        </p>
      </Show>
    </div>
  );
}
