/** Edits: every change that the technician can make. `apply` is pure; the time comes with the call. */
import type { Choices, FileReading, StepChoice } from "../pipeline/choices";
import type { JobInput } from "../pipeline/job";
import type { SourceFile } from "../pipeline/recording";
import type { Notebook, StoredDrive } from "./notebook";

export type Edit =
  | { edit: "title"; title: string }
  | { edit: "about"; about: string }
  | { edit: "job"; path: string[]; value: unknown; label: string }
  | { edit: "whole job"; job: JobInput }
  | { edit: "add file"; file: SourceFile }
  | { edit: "add drive"; drive: StoredDrive }
  | { edit: "remove file"; sha256: string }
  | { edit: "replace file"; before: string | null; file: SourceFile; label: string }
  | { edit: "read file"; sha256: string; reading: FileReading | null }
  /** `amount`: how the page writes what is put in, where the job's unit is not the litre. */
  | { edit: "step"; run: number; step: number; choice: StepChoice | null; amount?: string }
  | { edit: "choose"; key: keyof Choices; value: Choices[keyof Choices]; label: string; why?: string }
  | { edit: "note"; leaf: string; text: string }
  | { edit: "loose note"; id: string; after: string; text: string | null }
  | { edit: "fold"; leaf: string; folded: boolean }
  | { edit: "hand over"; settings: unknown }
  | { edit: "whole notebook"; notebook: Notebook; label: string };

/** Three figures: a name is read, not reckoned with. */
const short = (value: number): number => Number(value.toPrecision(3));

/** How the edit is called in "Undo …". */
export function nameOf(e: Edit): string {
  switch (e.edit) {
    case "title":
      return "change the title";
    case "about":
      return "change what it is about";
    case "job":
      return `change ${e.label}`;
    case "whole job":
      return "take another job";
    case "add file":
      return `bring ${e.file.name}`;
    case "add drive":
      return `bring ${e.drive.name}`;
    case "remove file":
      return "take a file out";
    case "replace file":
      return e.label;
    case "read file":
      return "read the file another way";
    case "step":
      return e.choice === null
        ? `leave step ${e.step} to the rule`
        : e.choice.treat === "set-aside"
          ? `set step ${e.step} aside`
          : e.choice.treat === "keep"
            ? `keep step ${e.step}`
            : (e.choice.amount_L ?? 0) < 0
              ? `take ${e.amount ?? `${short(-e.choice.amount_L!)} L`} off pour ${e.step}`
              : `put ${e.amount ?? `${short(e.choice.amount_L ?? 0)} L`} in at pour ${e.step}`;
    case "choose":
      return e.label;
    case "note":
      return "write a note";
    case "loose note":
      return e.text === null ? "take a note out" : "write a note";
    case "fold":
      return e.folded ? "fold a leaf" : "open a leaf";
    case "hand over":
      return "hand over these settings";
    case "whole notebook":
      return e.label;
  }
}

const forbidden = new Set(["__proto__", "constructor", "prototype"]);

/** A copy with one field set along a path; objects off the path are the same objects as before. */
function withPath(object: Record<string, unknown>, path: string[], value: unknown): Record<string, unknown> {
  const [key, ...rest] = path;
  if (key === undefined || forbidden.has(key)) throw new Error(`edit: the path ${path.join(".")} cannot be set`);
  const before = object[key];
  return {
    ...object,
    [key]:
      rest.length === 0
        ? value
        : withPath(
            typeof before === "object" && before !== null ? (before as Record<string, unknown>) : {},
            rest,
            value,
          ),
  };
}

/**
 * The notebook after an edit.
 * @param at ISO time, kept with notes and decisions.
 */
export function apply(notebook: Notebook, e: Edit, at: string): Notebook {
  const decided = (what: string, why: string) => [...notebook.decisions, { what, why, at }];
  switch (e.edit) {
    case "title":
      return { ...notebook, title: e.title };
    case "about":
      return { ...notebook, about: e.about };
    case "job":
      return { ...notebook, job: withPath(notebook.job as Record<string, unknown>, e.path, e.value) as JobInput };
    case "whole job":
      return { ...notebook, job: e.job };
    case "add file":
      return { ...notebook, fills: [...notebook.fills.filter((f) => f.sha256 !== e.file.sha256), e.file] };
    case "add drive":
      return { ...notebook, drives: [...notebook.drives.filter((d) => d.sha256 !== e.drive.sha256), e.drive] };
    case "remove file":
      return {
        ...notebook,
        fills: notebook.fills.filter((f) => f.sha256 !== e.sha256),
        drives: notebook.drives.filter((d) => d.sha256 !== e.sha256),
      };
    case "replace file": {
      const stands = notebook.fills.some((f) => f.sha256 === e.before);
      const fills = stands
        ? notebook.fills.map((f) => (f.sha256 === e.before ? e.file : f))
        : [...notebook.fills.filter((f) => f.sha256 !== e.file.sha256), e.file];
      return { ...notebook, fills };
    }
    case "read file": {
      const { [e.sha256]: _before, ...others } = notebook.readings;
      return { ...notebook, readings: e.reading === null ? others : { ...others, [e.sha256]: e.reading } };
    }
    case "step": {
      const key = `${e.run}:${e.step}`;
      const { [key]: _before, ...others } = notebook.choices.steps;
      return {
        ...notebook,
        choices: { ...notebook.choices, steps: e.choice === null ? others : { ...others, [key]: e.choice } },
        decisions: decided(nameOf(e), e.choice?.reason ?? "taken back"),
      };
    }
    case "choose":
      return {
        ...notebook,
        choices: { ...notebook.choices, [e.key]: e.value },
        decisions: decided(e.label, e.why ?? ""),
      };
    case "note": {
      const { [e.leaf]: _before, ...others } = notebook.notes;
      return { ...notebook, notes: e.text === "" ? others : { ...others, [e.leaf]: { text: e.text, at } } };
    }
    case "loose note": {
      const others = notebook.looseNotes.filter((n) => n.id !== e.id);
      return {
        ...notebook,
        looseNotes: e.text === null ? others : [...others, { id: e.id, after: e.after, text: e.text, at }],
      };
    }
    case "fold":
      return {
        ...notebook,
        folded: e.folded
          ? [...notebook.folded.filter((l) => l !== e.leaf), e.leaf]
          : notebook.folded.filter((l) => l !== e.leaf),
      };
    case "hand over":
      return { ...notebook, issued: { at, settings: e.settings }, decisions: decided("settings handed over", "") };
    case "whole notebook":
      return e.notebook;
  }
}
