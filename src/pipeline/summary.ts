/** The analysis in published words, a line a leaf, its cautions under it: what the command line prints. */

import { valueIn } from "../answer";
import { type Said, saidIn } from "../said";
import { cautionsOf } from "./analysis";
import type { Answers } from "./index";
import { allFindings, textOf, waitsFor } from "./words/all";
import { allSaid } from "./words/finding";
import { volumeWordsOf } from "./words/volume";

const plainBlanks = (text: string) => text.replaceAll("\u00a0", " ").replace(/\s*[\r\n]+\s*/g, " ");
const margin = " ".repeat(13);

export function summaryLines(answers: Answers): string[] {
  const cautions = cautionsOf(answers);
  // As the findings are: one unit for both.
  const volume = volumeWordsOf(valueIn(answers.job));
  const read = (said: Said) => saidIn(said, volume);
  /** Notes are for the report; what makes an answer conditional or doubtful is said here too, and what was left out of a file. */
  const under = (stages: string[], said: string[]) => [
    ...new Set(
      cautions
        .filter((c) => stages.includes(c.stage) && (c.issue.weight !== "note" || c.issue.code.startsWith("recording/")))
        // What the sentence says already is not said again: only what to do about it.
        .map(({ issue }) =>
          [...(said.includes(issue.code) ? [] : [issue.says]), issue.remedyOnCommandLine ?? issue.remedy ?? ""]
            .map(read)
            .join(" ")
            .trim(),
        )
        .filter((text) => text !== "")
        .map((text) => `${margin}! ${plainBlanks(text)}`),
    ),
  ];
  const leaves = allFindings(answers);
  return leaves.flatMap(({ name, title, stage, answer, finding }) => {
    const waits = waitsFor(name, answer);
    const said = finding
      ? textOf(allSaid(finding))
      : answer.state === "stuck"
        ? waits
          ? `Waits for the ${waits.title}.`
          : `Not yet. ${read(answer.issue.says)}`
        : "Not computed.";
    const files = stage === "fillRun" ? ["fills"] : stage === "driveLog" ? ["drives"] : [];
    const beside = (finding?.beside?.rows ?? []).map(
      (r) =>
        `${margin}${r.what}: ${plainBlanks(textOf(r.yours))} chosen, ${plainBlanks(textOf(r.recommended))} recommended`,
    );
    return [
      `${`${title}:`.padEnd(12)} ${plainBlanks(said)}`,
      ...beside,
      ...under([...files, stage], finding?.says ?? []),
    ];
  });
}
