import { expect, test } from "vitest";
import type { Settings } from "../../../src/pipeline/settings";
import { textOf } from "../../../src/pipeline/words/all";
import { settingsFinding } from "../../../src/pipeline/words/settings";

const settings = (change: Partial<Settings>) =>
  ({ lines: [{}, {}, {}], smoothing: {}, warning: {}, ...change }) as unknown as Settings;
const said = (s: Settings, open: number) => textOf(settingsFinding(s, open).sentence).replaceAll("\u00a0", " ");

test("the hand-over counts what is to be typed, names what waits for a log, and what is not confirmed", () => {
  expect(said(settings({}), 0)).toBe("3 numbers to type, one a line on the card.");
  expect(said(settings({ smoothing: null }), 1)).toBe(
    "3 numbers to type, one a line on the card; smoothing still waits for a drive log that can be read. 1 decision is not confirmed: card and report say so on every sheet.",
  );
  expect(said(settings({ smoothing: null, warning: null }), 2)).toBe(
    "3 numbers to type, one a line on the card; smoothing still waits for a drive log that can be read, and the warning still waits for what the low-fuel leaf asks for. 2 decisions are not confirmed: card and report say so on every sheet.",
  );
});

test("the figure set in the sentence is the number and what it counts, not the verb behind it", () => {
  const figures = settingsFinding(settings({}), 2).sentence.flatMap((p) => (typeof p === "string" ? [] : [p.text]));
  expect(figures).toEqual(["3\u00a0numbers", "2\u00a0decisions"]);
});
