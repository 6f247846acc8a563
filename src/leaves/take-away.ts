/** What leaves the page as a file: notebook, table, report. */
import type { OpenNotebook } from "../notebook/open-notebook";
import { changedSince } from "../pipeline/words/handed-over";
import { type Answers, answersNow } from "./answers-of";

export function saveFile(name: string, type: string, text: string): void {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text], { type }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}

/** The notebook's title as a file name. */
export const slugOf = (book: OpenNotebook): string =>
  (titleOf(book) || "fillbook")
    .toLowerCase()
    .replace(/[^\p{L}\p{N}]+/gu, "-")
    .replace(/^-+|-+$/g, "")
    .slice(0, 60) || "fillbook";

export const titleOf = (book: OpenNotebook): string => book.notebook().title || book.notebook().job.name || "";

/** The report is written by the same code as the command line's, which is fetched when it is asked for. */
export async function reportNow(book: OpenNotebook): Promise<void> {
  const { renderReport } = await import("../pipeline/report");
  const n = book.notebook();
  const answers: Answers = answersNow(book);
  const changed =
    answers.settings.state === "ready" && changedSince(n.issued?.settings, answers.settings.value.lines) !== null;
  const drives = n.drives.map((d) => ({
    name: d.name,
    kind: "drive" as const,
    sha256: d.sha256,
    bytes: new Uint8Array(),
  }));
  const text = renderReport(answers, {
    files: [...n.fills, ...drives],
    choices: n.choices,
    notebook: JSON.parse(book.saveText()),
    // What has changed since the hand-over was not issued then.
    issuedAt: n.issued && !changed ? n.issued.at : new Date().toISOString(),
  });
  saveFile(`${slugOf(book)}-report.html`, "text/html", text);
}
