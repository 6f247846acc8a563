import { expect, test } from "vitest";
import { valueIn } from "../../../src/answer";
import type { SettingLine } from "../../../src/pipeline/settings";
import { changedSince } from "../../../src/pipeline/words/handed-over";
import { runExample } from "../example-run";

const settings = valueIn(runExample("moor-runner").answers.settings)!;
const { lines } = settings;
const plain = (text: string | null) => text?.replaceAll("\u00a0", " ");
const at = (label: string): SettingLine => lines.find((l) => l.label === label)!;

test("the same numbers are no change, and of settings without lines nothing is said", () => {
  expect(changedSince(JSON.parse(JSON.stringify(settings)), lines)).toBeNull();
  expect(changedSince({ table: [] }, lines)).toBeNull();
  expect(changedSince(null, lines)).toBeNull();
});

test("a changed number stands there as it was and as it is, with its unit", () => {
  const now = lines.map((l) => (l.label === "Warn at" ? { ...l, digits: "9" } : l));
  expect(plain(changedSince(settings, now))).toBe(
    `Since then one number has changed: Warn at was ${at("Warn at").digits} L and is 9 L.`,
  );
});

test("lines that are gone or new count, and of many only the first are named", () => {
  expect(plain(changedSince(settings, lines.slice(0, -1)))).toBe("Since then one number has changed: 1 line is gone.");
  expect(plain(changedSince({ lines: lines.slice(1) }, lines))).toBe(
    `Since then one number has changed: ${lines[0]!.label} is new.`,
  );
  const all = lines.map((l) => ({ ...l, digits: `${l.digits}1` }));
  expect(plain(changedSince(settings, all))).toMatch(
    new RegExp(`^Since then ${lines.length} numbers have changed: (?:[^;]+; ){3}and ${lines.length - 3} more\\.$`),
  );
});
