/** What several runs of one tank say together: added to the fill-run leaf. Nothing for a single run. */
import type { RunsTogether } from "../several-runs";
import type { Phrase, WorkingLine } from "./finding";
import { litres, quantity, quantityWith } from "./quantity";

const path = (name: keyof RunsTogether): string => `fillRunsTogether.${name}`;

/** Says a figure of the runs together by its name; only names whose figure is there. */
const sayer =
  (t: RunsTogether) =>
  (name: keyof RunsTogether): Phrase =>
    litres(path(name), t[name] as number);

/** From the lower to the upper limit of a figure. */
const limits = (t: RunsTogether, name: "betweenRuns" | "repeatability" | "hysteresis"): Phrase[] => [
  sayer(t)(`${name}Lower_L`),
  " to ",
  sayer(t)(`${name}Upper_L`),
];

/** Sentences that follow those of the fill run, each with its interval. */
export function severalRunsPhrases(together: RunsTogether | null): Phrase[] {
  if (!together) return [];
  const t = together;
  const say = sayer(t);
  const phrases: Phrase[] = [];
  if (t.betweenRuns_L !== null && t.repeatability_L !== null)
    phrases.push(
      ...(t.betweenRuns_L > 0
        ? [
            ` ${t.fillRuns} fill runs differ as a whole by `,
            say("betweenRuns_L"),
            " (standard deviation, 95 %: ",
            ...limits(t, "betweenRuns"),
            t.fillRuns < 4 ? "; so few runs tell it only roughly). " : "). ",
          ]
        : t.betweenRunsUpper_L! > 0
          ? [
              ` ${t.fillRuns} fill runs differ as a whole by no more than their pours explain; a spread of their own is at most `,
              say("betweenRunsUpper_L"),
              " (standard deviation, 95 %). ",
            ]
          : // The limit of 95 % falls on nothing for runs that agree by luck: no run says that it has no spread.
            [
              ` ${t.fillRuns} fill runs agree as a whole more closely than their pours let expect, which is luck: a spread of their own cannot be told from them. `,
            ]),
      // None beside the errors of the pours is no reading that repeats to nothing.
      ...(t.repeatability_L > 0
        ? ["Within a run a reading repeats to ", say("repeatability_L"), "."]
        : [
            "Within a run the readings scatter no more than the pours alone do (at most ",
            say("repeatabilityUpper_L"),
            ").",
          ]),
    );
  if (t.hysteresis_L !== null) {
    const more = t.hysteresis_L <= 0;
    const sure = t.hysteresisLower_L! > 0 || t.hysteresisUpper_L! < 0;
    phrases.push(
      sure
        ? ` At equal volume the sender shows ${more ? "more" : "less"} on the way down; rising less falling is `
        : " No loop between rising and falling level is shown; rising less falling is ",
      quantityWith(path("hysteresis_L"), t.hysteresis_L, t.hysteresisUpper_L! - t.hysteresis_L, "L"),
      ".",
    );
  }
  if (t.closure_L !== null)
    phrases.push(
      " Poured less drained is ",
      say("closure_L"),
      Math.abs(t.closure_L) <= t.closureLimit_L!
        ? ", as close as the stated pours allow (at most ± "
        : ", more than the stated pours allow (at most ± ",
      say("closureLimit_L"),
      ").",
    );
  if (t.unusable_L !== null)
    phrases.push(
      " Until the pump drew air the pick-up left ",
      quantityWith(path("unusable_L"), t.unusable_L, 1.96 * t.unusableStandard_L!, "L"),
      ".",
    );
  return phrases;
}

export function severalRunsWorking(together: RunsTogether | null): WorkingLine[] {
  if (!together) return [];
  const t = together;
  const say = sayer(t);
  const lines: WorkingLine[] = [];
  if (t.repeatability_L !== null && t.betweenRuns_L !== null)
    lines.push({
      what: `${t.fillRuns} fill runs at ${t.levels} equal volumes, errors of the pours taken off; how empty each run began is in the spread`,
      formula: "analysis of variance, runs as groups: s_r from the rest, s_L from the runs’ offsets",
      figures: [
        "within a run ",
        say("repeatability_L"),
        " (",
        ...limits(t, "repeatability"),
        "), between runs ",
        say("betweenRuns_L"),
        " (",
        ...limits(t, "betweenRuns"),
        ")",
      ],
      source: "ISO 5725-2 (from memory); intervals by the Q-profile (Viechtbauer 2007, from memory)",
    });
  if (t.hysteresis_L !== null)
    lines.push({
      what: "Rising less falling at equal volume",
      formula:
        "cov = (n − max(k, l))·u_p² + min(draws k, l)·u_d², into another container also D_k·D_l·(u_s² + u_s'²), and the readings’ own scatter",
      figures: [say("hysteresis_L"), " (", ...limits(t, "hysteresis"), ", 95 %)"],
      source: "JCGM 100:2008, 5.2 and G.4.1",
    });
  for (const [k, level] of t.hysteresisAt.entries())
    lines.push({
      what: "Loop at",
      formula: null,
      figures: [
        quantity(`fillRunsTogether.hysteresisAt.${k}.volume_L`, level.volume_L, "L"),
        ": ",
        litres(`fillRunsTogether.hysteresisAt.${k}.difference_L`, level.difference_L),
        " ± ",
        litres(`fillRunsTogether.hysteresisAt.${k}.standard_L`, level.standard_L),
        " (standard)",
      ],
      source: null,
    });
  if (t.unusable_L !== null)
    lines.push({
      what: "What the pick-up leaves: poured into the drained tank less drawn until the pump drew air",
      formula: "√(n·u_p² + m·u_d² + left²·u_s²); into another container F²·u_s² + D²·u_s'² for the last",
      figures: [say("unusable_L"), " ± ", say("unusableStandard_L"), " (standard)"],
      source: "JCGM 100:2008, 5.2",
    });
  if (t.closure_L !== null)
    lines.push({
      what: "Poured less drained, less what the reading shows at the end beside the start: a check of the stated error of a pour",
      formula: "√(n·u_p² + m·u_d² + readings), into another container also F²·u_s² + D²·u_s'², and 1.96 times that",
      figures: [
        say("closure_L"),
        " (sheets alone: ",
        say("closureWritten_L"),
        ") against ",
        say("closureStandard_L"),
        " standard, ",
        say("closureLimit_L"),
        " at most",
      ],
      source: "JCGM 100:2008, 5.2",
    });
  return lines;
}
