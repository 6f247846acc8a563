/** What has changed since settings were handed over. */
import type { SettingLine } from "../settings";

/** So many are named one by one. */
const named = 3;

const isLine = (l: unknown): l is Pick<SettingLine, "path" | "digits" | "unit"> =>
  typeof l === "object" && l !== null && typeof (l as SettingLine).path === "string" && "digits" in l;

const typed = (l: { digits: string; unit: string }) => `${l.digits}${l.unit ? `\u00a0${l.unit}` : ""}`;

/**
 * @param before the settings as they were kept. @param now the lines to type today.
 * @returns a sentence where another number would be typed today; null where every one is the same, or nothing is known of what was typed.
 */
export function changedSince(before: unknown, now: SettingLine[]): string | null {
  const lines = (before as { lines?: unknown } | null)?.lines;
  if (!Array.isArray(lines)) return null;
  const then = new Map(lines.filter(isLine).map((l) => [l.path, typed(l)]));
  const gone = then.size - now.filter((l) => then.has(l.path)).length;
  const changes = now.flatMap((l) => {
    const was = then.get(l.path);
    if (was === typed(l)) return [];
    return [was === undefined ? `${l.label} is new` : `${l.label} was ${was} and is ${typed(l)}`];
  });
  const count = changes.length + gone;
  if (count === 0) return null;
  const told = [...changes, ...(gone > 0 ? [`${gone} ${gone === 1 ? "line is" : "lines are"} gone`] : [])];
  const rest = told.length - named;
  return `Since then ${count === 1 ? "one number has" : `${count} numbers have`} changed: ${told.slice(0, named).join("; ")}${rest > 0 ? `; and ${rest} more` : ""}.`;
}
