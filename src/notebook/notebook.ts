/** Notebook: the saved document. What was measured and what was decided; nothing that can be computed. Immutable. */
import { type Choices, type FileReading, noChoices } from "../pipeline/choices";
import type { Sources } from "../pipeline/index";
import type { JobInput } from "../pipeline/job";
import type { SourceFile } from "../pipeline/recording";

/** A drive log is named by its hash; its bytes stay in the browser's store. */
export interface StoredDrive {
  name: string;
  sha256: string;
  bytes: number;
}

export interface Note {
  text: string;
  /** ISO time of the last change. */
  at: string;
}

/** Something that was decided by hand: stands on the last page of the report. */
export interface Decision {
  what: string;
  why: string;
  at: string;
}

/** Settings as they were handed over: frozen, so that a later look can tell what was typed then. */
export interface Issued {
  at: string;
  settings: unknown;
}

export interface Notebook {
  title: string;
  about: string;
  job: JobInput;
  fills: SourceFile[];
  drives: StoredDrive[];
  readings: Record<string, FileReading>;
  choices: Choices;
  /** One note a leaf, by the leaf's name. */
  notes: Record<string, Note>;
  /** Notes that stand between leaves: after the leaf named. */
  looseNotes: { id: string; after: string; text: string; at: string }[];
  folded: string[];
  decisions: Decision[];
  issued: Issued | null;
}

export const emptyNotebook: Notebook = {
  title: "",
  about: "",
  job: {},
  fills: [],
  drives: [],
  readings: {},
  choices: noChoices,
  notes: {},
  looseNotes: [],
  folded: [],
  decisions: [],
  issued: null,
};

/** What the pipeline reads. @param driveBytes bytes by hash; a log whose bytes are not here is left out (the page asks for it again). */
export function sourcesOf(notebook: Notebook, driveBytes: ReadonlyMap<string, Uint8Array> = new Map()): Sources {
  const drives = notebook.drives.flatMap((d): SourceFile[] => {
    const bytes = driveBytes.get(d.sha256);
    return bytes ? [{ name: d.name, kind: "drive", bytes, sha256: d.sha256 }] : [];
  });
  return {
    job: notebook.job,
    files: { fills: notebook.fills, drives },
    readings: notebook.readings,
    choices: notebook.choices,
  };
}
