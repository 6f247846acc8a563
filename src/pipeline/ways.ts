/**
 * Ways to mend an issue: on the page by what stands there, on the command line by an option. The sentence is written once, around the
 * words that differ.
 */
import type { Issue } from "../answer";
import type { ColumnRole } from "./choices";

export interface Ways {
  page: string;
  command: string;
}

/** @param sentence what would mend it, around the way. */
export const mendedBy = (
  { page, command }: Ways,
  sentence: (way: string) => string,
): Required<Pick<Issue, "remedy" | "remedyOnCommandLine">> => ({
  remedy: sentence(page),
  remedyOnCommandLine: sentence(command),
});

/** A column is named for a role. */
export const byColumn = (...roles: ColumnRole[]): Ways => ({
  page: "under “Read it another way”",
  command: `with --map ${roles.map((role) => `${role}=COLUMN`).join(",")}`,
});

/** A value of the job that has its own place on the page. @param path of the job, with what it can be. */
export const byJob = (page: string, path: string): Ways => ({ page, command: `with --set ${path}` });

export const bringFill: Ways = {
  page: "Drop the file of a fill run here, or type the steps into the grid.",
  command: "Name the file of a fill run with --fill.",
};
export const bringDrive: Ways = {
  page: "Drop a recording of a drive here",
  command: "Name a recording of a drive with --drive",
};
export const asDrain: Ways = { page: "bring the file as a drain run", command: "name the file with --drain" };
export const asDrive: Ways = { page: "bring the file as a drive log", command: "name the file with --drive" };
export const byPart: Ways = { page: "under “Count only a part”", command: "with --part FROM-TO (seconds)" };
export const exportAgain: Ways = {
  page: "Export it again, or type the steps into the grid.",
  command: "Export it again.",
};
/** Marks are chosen on the page; a call takes them from the file. */
export const otherMarks: Ways = { page: "Choose, under “Read it another way”,", command: "Export the file with" };
export const drainEnd: Ways = byJob("under “drained until”", "drain.endedAt=pump-draws-air or =drained");
