/** The part of a drive log that counts: minutes from the log's start, for each log by itself. */
import { For, type JSX, Show } from "solid-js";
import { valueIn } from "../answer";
import { setText } from "../format";
import { useNotebook } from "../notebook/open-notebook";
import type { LogPart } from "../pipeline/choices";
import { refusePartEnd, refusePartStart } from "../pipeline/words/own-choice";
import { NumberField } from "../ui/fields";

const minute_s = 60;

export function DriveParts(): JSX.Element {
  const book = useNotebook();
  const chosen = (sha256: string): LogPart | null => book.notebook().choices.driveParts[sha256] ?? null;
  const whole_min = (sha256: string): number | null => {
    const log = valueIn(book.answers.driveLog())?.find((l) => l.sha256 === sha256);
    return log ? log.whole_s / minute_s : null;
  };
  const hint = (sha256: string): string => {
    const whole = whole_min(sha256);
    return whole === null ? "" : setText(whole, "", 3);
  };
  const set = (log: { name: string; sha256: string }, change: Partial<LogPart>) => {
    const { [log.sha256]: before, ...others } = book.notebook().choices.driveParts;
    const part = { from_s: 0, to_s: null, ...before, ...change };
    const all = part.from_s <= 0 && part.to_s === null;
    book.edit({
      edit: "choose",
      key: "driveParts",
      value: all ? others : { ...others, [log.sha256]: part },
      label: all ? `count all of ${log.name}` : `count a part of ${log.name}`,
    });
  };
  return (
    <Show when={book.notebook().drives.length > 0}>
      <details
        class="job-group"
        classList={{ screen: Object.keys(book.notebook().choices.driveParts).length === 0 }}
        data-group="parts"
      >
        <summary>
          <b>Count only a part</b> the drive to the pump, or the minutes after it, may not belong
        </summary>
        <div>
          <For each={book.notebook().drives}>
            {(log) => (
              <>
                <NumberField
                  label={`${log.name} from`}
                  unit="min"
                  value={minutes(chosen(log.sha256)?.from_s || null)}
                  hint="0"
                  refuse={refusePartStart(minutes(chosen(log.sha256)?.to_s ?? null), whole_min(log.sha256))}
                  onChange={(v) => set(log, { from_s: (v ?? 0) * minute_s })}
                />
                <NumberField
                  label="to"
                  unit="min"
                  value={minutes(chosen(log.sha256)?.to_s ?? null)}
                  hint={hint(log.sha256)}
                  refuse={refusePartEnd(minutes(chosen(log.sha256)?.from_s ?? 0) ?? 0)}
                  onChange={(v) => set(log, { to_s: v === null ? null : v * minute_s })}
                />
              </>
            )}
          </For>
        </div>
      </details>
    </Show>
  );
}

const minutes = (seconds: number | null): number | null =>
  seconds === null ? null : Number((seconds / minute_s).toPrecision(6));
