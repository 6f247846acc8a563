/** The analysis in plain words, a line a leaf, its cautions under it: what the command line prints. */
import { cautionsOf } from "./analysis";
import type { Answers } from "./index";
import { allFindings, textOf } from "./words/all";

const plainBlanks = (text: string) => text.replaceAll("\u00a0", " ").replace(/\s*[\r\n]+\s*/g, " ");
const margin = " ".repeat(13);

export function summaryLines(answers: Answers): string[] {
  const cautions = cautionsOf(answers);
  /** Notes are for the report; what makes an answer conditional or doubtful is said here too, and what was left out of a file. */
  const under = (stages: string[]) =>
    cautions
      .filter((c) => stages.includes(c.stage) && (c.issue.weight !== "note" || c.issue.code.startsWith("recording/")))
      .map(
        ({ issue }) => `${margin}! ${plainBlanks(issue.says)}${issue.remedy ? ` ${plainBlanks(issue.remedy)}` : ""}`,
      );
  const leaves = allFindings(answers);
  return leaves.flatMap(({ title, stage, answer, finding }) => {
    const said = finding
      ? textOf(finding.sentence)
      : answer.state === "stuck"
        ? `Not yet. ${answer.issue.says}`
        : "Not computed.";
    const files = stage === "fillRun" ? ["fills"] : stage === "driveLog" ? ["drives"] : [];
    const beside = (finding?.beside?.rows ?? []).map(
      (r) =>
        `${margin}${r.what}: ${plainBlanks(textOf(r.yours))} chosen, ${plainBlanks(textOf(r.recommended))} recommended`,
    );
    return [`${`${title}:`.padEnd(12)} ${plainBlanks(said)}`, ...beside, ...under([...files, stage])];
  });
}
