/** The analysis in plain words, a line a leaf: what the command line prints. */
import type { Answers } from "./index";
import { allFindings, textOf } from "./words/all";

export function summaryLines(answers: Answers): string[] {
  return allFindings(answers).map(({ title, answer, finding }) => {
    const said = finding
      ? textOf(finding.sentence)
      : answer.state === "stuck"
        ? `Not yet. ${answer.issue.says}`
        : "Not computed.";
    return `${`${title}:`.padEnd(12)} ${said.replaceAll("\u00a0", " ")}`;
  });
}
