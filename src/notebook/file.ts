/** One notebook file: versioned JSON, checked on reading. Fill runs whole, drive logs by hash. */
import { z } from "zod";
import { type Answer, type Issue, ready, stuck } from "../answer";
import { noChoices } from "../pipeline/choices";
import { jobInputSchema } from "../pipeline/job";
import { shouldBe } from "../pipeline/job-issue";
import type { Notebook } from "./notebook";

export { sourcesOf } from "./notebook";

export const notebookFormat = "fillbook-notebook";
export const notebookVersion = 1;

const text = z.string().max(100_000);
const sha = z.string().regex(/^[0-9a-f]{64}$/);
const stepChoice = z.object({
  treat: z.enum(["keep", "set-aside", "put-in"]),
  amount_L: z.number().finite().optional(),
  reason: text,
});
const number = z.number().finite().nullable();
const fileReading = z
  .object({
    delimiter: z.string().max(3),
    decimal: z.enum([".", ","]),
    encoding: z.enum(["utf-8", "utf-16le", "utf-16be", "windows-1252"]),
    headerRow: z.number().int().nullable(),
    columns: z.record(z.string(), z.string()),
    enteredAs: z.enum(["added", "cumulative"]),
    units: z.record(z.string(), z.string()),
  })
  .partial();

const fileSchema = z.object({
  format: z.literal(notebookFormat),
  version: z.literal(notebookVersion),
  title: text,
  about: text,
  job: jobInputSchema,
  fills: z.array(
    z.object({ name: z.string().max(500), kind: z.enum(["fill", "drain"]), sha256: sha, base64: z.string() }),
  ),
  drives: z.array(z.object({ name: z.string().max(500), sha256: sha, bytes: z.number().int().nonnegative() })),
  readings: z.record(z.string(), fileReading),
  choices: z.object({
    steps: z.record(z.string().regex(/^\d+:\d+$/), stepChoice),
    curve: z.object({
      shape: z.enum(["smooth", "piecewise", "divider", "polynomial", "line"]).nullable(),
      knots: z.array(z.number()).nullable(),
      free: z.number().int().min(0).max(2).optional(),
      flat: z.array(z.number().int().positive()).optional(),
    }),
    display: z.object({ timeConstant_s: number, deadband_L: number }),
    ends: z.object({ emptyMargin: number, fullMargin: number }),
    table: z.object({ points: number }),
    lowFuel: z.object({ warnAtUsable_L: number }),
    driveParts: z
      .record(sha, z.object({ from_s: z.number().finite(), to_s: z.number().finite().nullable() }))
      .default({}),
    seed: z.number().int(),
  }),
  notes: z.record(z.string(), z.object({ text, at: z.string() })),
  looseNotes: z.array(z.object({ id: z.string(), after: z.string(), text, at: z.string() })),
  folded: z.array(z.string()),
  decisions: z.array(z.object({ what: text, why: text, at: z.string() })),
  issued: z.object({ at: z.string(), settings: z.unknown() }).nullable(),
});

/** The notebook as the text of its file. */
export function writeNotebook(notebook: Notebook): string {
  const { fills, ...rest } = notebook;
  const file = {
    format: notebookFormat,
    version: notebookVersion,
    ...rest,
    fills: fills.map(({ bytes, ...f }) => ({ ...f, base64: toBase64(bytes) })),
  };
  return `${JSON.stringify(file, null, 1)}\n`;
}

/**
 * Opens the text of a notebook file.
 * @param hashOf SHA-256 in hexadecimal, where the door has one at hand: a fill run that no longer fits its hash is doubted.
 * @returns stuck `notebook/…` for text cut short, another kind of file, a newer version, or a field that is wrong, named by its path.
 */
export function openNotebookText(content: string, hashOf?: (bytes: Uint8Array) => string): Answer<Notebook> {
  let raw: unknown;
  try {
    // Keys that would reach into every object are dropped, whatever they hold.
    raw = JSON.parse(content, (key, value) =>
      key === "__proto__" || key === "constructor" || key === "prototype" ? undefined : value,
    );
  } catch (error) {
    const begun = content.trimStart().startsWith("{");
    const cut = begun && !content.trimEnd().endsWith("}");
    return stuck({
      code: "notebook/cut-short",
      says: cut
        ? "The notebook file ends in the middle: it was cut short."
        : begun
          ? `This is no notebook file: ${error instanceof Error ? error.message : "it cannot be read"}.`
          : "This is no notebook file.",
      remedy: begun
        ? "Take an earlier copy, or the report: it holds the notebook too."
        : "Open a file that was saved here; a recording is brought as a fill run or a drive log.",
    });
  }
  const head = z.object({ format: z.string(), version: z.number() }).safeParse(raw);
  if (!head.success || head.data.format !== notebookFormat)
    return stuck({
      code: "notebook/other-file",
      says: "This JSON file is no notebook of this app.",
      remedy: "Open a file that was saved here.",
    });
  if (head.data.version > notebookVersion)
    return stuck({
      code: "notebook/newer",
      says: `This notebook was saved by a newer version (${head.data.version}; this one reads up to ${notebookVersion}).`,
      remedy: "Use the newer version of the app; nothing was changed.",
    });
  const read = fileSchema.safeParse({ ...defaults, ...(raw as object) });
  if (!read.success) {
    const first = read.error.issues[0]!;
    const given = first.path.reduce<unknown>(
      (o, key) => (o as Record<PropertyKey, unknown> | null | undefined)?.[key],
      raw,
    );
    return stuck({
      code: "notebook/invalid",
      says: `In the notebook file, ${first.path.join(".") || "the top"} ${shouldBe(first, given)}.`,
      remedy: "Correct that field, or take an earlier copy.",
      where: { column: first.path.join(".") },
    });
  }
  const { format: _format, version: _version, fills, ...rest } = read.data;
  const decoded = fills.map(({ base64, ...f }) => ({ ...f, bytes: fromBase64(base64) }));
  return ready(
    {
      ...rest,
      issued: rest.issued ? { at: rest.issued.at, settings: rest.issued.settings } : null,
      fills: decoded,
    } as Notebook,
    hashOf ? changedFiles(decoded, hashOf) : [],
  );
}

/** One caution for each fill run whose bytes no longer give its hash. */
export function changedFiles(
  files: { name: string; bytes: Uint8Array; sha256: string }[],
  hashOf: (bytes: Uint8Array) => string,
): Issue[] {
  return files
    .filter((f) => hashOf(f.bytes) !== f.sha256)
    .map((f) => ({
      code: "notebook/changed-file",
      says: `The fill run ${f.name} in this notebook is not the one that was saved: its content was changed since (its SHA-256 no longer fits).`,
      remedy: "Bring the original file, or look at what was changed.",
      weight: "doubtful",
    }));
}

const defaults = {
  about: "",
  readings: {},
  choices: noChoices,
  notes: {},
  looseNotes: [],
  folded: [],
  decisions: [],
  issued: null,
  drives: [],
};

/** Bytes to base64 in pieces: one call with a million arguments would overflow the stack. */
export function toBase64(bytes: Uint8Array): string {
  let binary = "";
  for (let i = 0; i < bytes.length; i += 8192) binary += String.fromCharCode(...bytes.subarray(i, i + 8192));
  return btoa(binary);
}

export function fromBase64(base64: string): Uint8Array {
  const binary = atob(base64);
  return Uint8Array.from(binary, (c) => c.charCodeAt(0));
}
