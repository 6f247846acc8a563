/** The head of page and report: one sentence of verdict, then what mends a complaint, what was found, what to type, what is doubtful, what is missing. */
import { type Answer, type Issue, type Trust, trustOf, valueIn } from "../../answer";
import { inWords } from "../../quantity";
import { phrasesInUnit, published, type Said, saidIn } from "../../said";
import type { Complaint } from "../complaint";
import type { Answers } from "../index";
import { allFindings, type LeafWords, spanOf } from "./all";
import type { Phrase } from "./finding";
import { shownOver_L } from "./low-fuel";
import {
  coverageText,
  drawn,
  litres,
  litresPair,
  litresSet,
  percent,
  quantity,
  rate,
  setting,
  within,
  withoutUnit,
} from "./quantity";
import { volumeWordsOf } from "./volume";

export interface HeadRow {
  name: "Mend" | "Found" | "Type in" | "Doubtful" | "Missing";
  /** The weakest kind among the leaves it quotes. */
  trust: Trust;
  parts: { phrases: Phrase[]; leaf: { number: number; name: string } | null }[];
}
export interface Head {
  verdict: Phrase[];
  rows: HeadRow[];
  leaves: LeafWords[];
}

const order: Trust[] = ["holds", "holds-if", "doubtful", "stuck"];
export const weakest = (kinds: Trust[]): Trust =>
  kinds.reduce<Trust>((a, b) => (order.indexOf(b) > order.indexOf(a) ? b : a), "holds");

const number = (n: number, one: string, many: string) =>
  n === 1 ? `one ${one}` : `${["no", "one", "two", "three", "four", "five", "six"][n] ?? n} ${many}`;

export function headOf(answers: Answers): Head {
  const leaves = allFindings(answers);
  const volume = volumeWordsOf(valueIn(answers.job));
  const said = (words: Said) => saidIn(words, volume);
  const at = (name: string) => ({ number: leaves.findIndex((l) => l.name === name) + 1, name });
  const doubts = new Map<string, { issue: Issue; leaf: ReturnType<typeof at> }>();
  const missing = new Map<string, { issue: Issue; leaf: ReturnType<typeof at>; waits: string[] }>();
  for (const leaf of leaves) {
    if (leaf.answer.state === "ready")
      for (const issue of leaf.answer.cautions)
        if (issue.weight === "doubtful" || issue.weight === "holds-if") {
          // The same doubt is handed on from leaf to leaf: it is named once, where it can be settled.
          const known = doubts.get(published(issue.says));
          if (!known || (issue.weight === "doubtful" && known.issue.weight !== "doubtful"))
            doubts.set(published(issue.says), { issue, leaf: at(leaf.name) });
        }
    if (leaf.answer.state === "stuck") {
      const known = missing.get(published(leaf.answer.issue.says));
      if (known) known.waits.push(leaf.title);
      else missing.set(published(leaf.answer.issue.says), { issue: leaf.answer.issue, leaf: at(leaf.name), waits: [] });
    }
  }
  // The cause of a complaint has no leaf of its own: where looking for it failed, the head is where it is missed.
  const failed = complaintFailed(answers);
  if (failed) missing.set(published(failed.says), { issue: failed, leaf: at("trial"), waits: [] });
  const rows = [mend(answers, at, said), found(answers, at), typeIn(answers, at)].filter((r) => r !== null);
  if (doubts.size > 0)
    rows.push({
      name: "Doubtful",
      trust: "doubtful",
      parts: firstOf(
        [...doubts.values()].map((d) => ({ phrases: [said(d.issue.says)], leaf: d.leaf })),
        5,
      ),
    });
  if (missing.size > 0)
    rows.push({
      name: "Missing",
      trust: "stuck",
      parts: firstOf(
        [...missing.values()].map((m) => ({
          phrases: [
            said(m.issue.says),
            m.issue.remedy ? ` ${said(m.issue.remedy)}` : "",
            m.waits.length > 0 ? ` Waiting for it: ${m.waits.join(", ")}.` : "",
          ],
          leaf: m.leaf,
        })),
        4,
      ),
    });
  return {
    verdict: phrasesInUnit(verdictLine(answers, doubts.size, missing.size, said), volume),
    rows: rows.map((row) => ({
      ...row,
      parts: row.parts.map((p) => ({ ...p, phrases: phrasesInUnit(p.phrases, volume) })),
    })),
    leaves,
  };
}

/** So many parts, and how many more there are: none is dropped in silence. One more is shown rather than counted. */
function firstOf(parts: HeadRow["parts"], most: number): HeadRow["parts"] {
  const more = parts.length - most;
  if (more <= 1) return parts;
  return [
    ...parts.slice(0, most),
    { phrases: [`And ${number(more, "more", "more")}, said on their leaves.`], leaf: null },
  ];
}

/** A complaint whose cause could not be looked for, since the search broke off. */
const complaintFailed = ({ complaint }: Answers): Issue | null =>
  complaint.state === "stuck" && complaint.issue.code === "complaint/internal" ? complaint.issue : null;

/** A complaint asks for its cause: that comes first, whatever new settings are worth. Where nobody complains and there is a fill run, null. */
function complaintOf(answers: Answers): Complaint | null {
  const complaint = answers.complaint.state === "ready" ? answers.complaint.value : null;
  return complaint && (complaint.stated !== null || answers.fillRun.state === "stuck") ? complaint : null;
}

function verdictLine(answers: Answers, doubts: number, missing: number, said: (words: Said) => string): Phrase[] {
  const v = answers.verdict.state === "ready" ? answers.verdict.value : null;
  const open = [
    doubts > 0 ? `${number(doubts, "doubt", "doubts")} to settle` : "",
    missing > 0 ? `${number(missing, "thing", "things")} to bring` : "",
  ].filter(Boolean);
  if (answers.verdict.state === "waiting") return ["Being computed."];
  const complaint = complaintOf(answers);
  if (complaint) return [said(complaint.says)];
  if (complaintFailed(answers))
    return ["What causes the complaint could not be looked for: the search for it broke off."];
  if (answers.fillRun.state === "stuck") return ["Bring a fill run, and this sheet fills itself."];
  if (v && v.decision === "does-not-conform")
    return [
      "Not good enough yet: the largest error is likely ",
      quantity("verdict.largest_L", v.largest_L, "L", 2),
      ", where ",
      within(setting("verdict.tolerance_L", v.tolerance_L, "L")),
      " is allowed.",
    ];
  if (open.length > 0) return [`Not ready to hand over: ${open.join(" and ")}.`];
  if (v && v.decision === "conforms")
    return [
      "Ready to hand over: right within ",
      within(setting("verdict.tolerance_L", v.tolerance_L, "L")),
      " with a chance of ",
      drawn("verdict.probability", v.probability, 0),
      ".",
    ];
  if (v)
    return [
      v.probability < 0.5
        ? "Whether it is good enough cannot be said yet, but more likely it is not: right within "
        : "Whether it is good enough cannot be said yet: right within ",
      within(setting("verdict.tolerance_L", v.tolerance_L, "L")),
      " with a chance of ",
      drawn("verdict.probability", v.probability, 0),
      ...(v.probability < v.sayFrom
        ? [", where ", percent("verdict.sayFrom", v.sayFrom, 0), " is needed to say so."]
        : ["."]),
    ];
  return ["Whether it is good enough cannot be said yet."];
}

type At = (name: string) => { number: number; name: string };

/** What mends the display that somebody complains of. */
function mend(answers: Answers, at: At, said: (words: Said) => string): HeadRow | null {
  const remedy = complaintOf(answers)?.remedy;
  if (!remedy) return null;
  // A remedy that names a leaf leads there.
  const named = (["table", "display"] as const).find((name) => published(remedy).includes(`${name} leaf`)) ?? "trial";
  return { name: "Mend", trust: trustOf(answers.trial).trust, parts: [{ phrases: [said(remedy)], leaf: at(named) }] };
}

function found(answers: Answers, at: At): HeadRow | null {
  if (answers.curve.state !== "ready") return null;
  const c = answers.curve.value;
  const [low, high] = spanOf(c);
  const [from, to] = litresPair(0, [null, low], [null, high]);
  const half = c.overall.bandHalfWidth_L;
  const parts: HeadRow["parts"] = [
    {
      phrases: [
        "A reading gives the volume within ",
        within(litres("chosenCurve.overall.bandHalfWidth_L", half)),
        " from ",
        withoutUnit(from),
        " to ",
        to,
        ` (${coverageText(c.overall.coverage)}, fill day).`,
      ],
      leaf: at("curve"),
    },
  ];
  const quoted: Answer<unknown>[] = [answers.curve];
  if (answers.trial.state === "ready") {
    const t = answers.trial.value;
    quoted.push(answers.trial);
    parts.push({
      phrases: [
        ...(t.reversalsPerMinute === 0
          ? ["Under way the display never turns round and strays "]
          : [
              "Under way the display turns round ",
              rate("trial.reversalsPerMinute", t.reversalsPerMinute),
              " times a minute and strays ",
            ]),
        quantity("trial.rmsError_L", t.rmsError_L, "L", 2),
        " from the fuel (root mean square).",
      ],
      leaf: at("trial"),
    });
  }
  return { name: "Found", trust: weakest(quoted.map((a) => trustOf(a).trust)), parts };
}

/** What is left as the light comes on, where the display counts more than that: else the row and the leaf would seem to differ. */
function usableAt({ lowFuel, job }: Answers): Phrase[] {
  if (lowFuel.state !== "ready" || job.state !== "ready" || !(shownOver_L(job.value) > 0)) return [];
  return [" as it shows, ", litresSet("lowFuel.warnAtUsable_L", lowFuel.value.warnAtUsable_L), " usable"];
}

function typeIn(answers: Answers, at: At): HeadRow | null {
  if (answers.settings.state !== "ready" || answers.table.state !== "ready") return null;
  const s = answers.settings.value;
  const phrases: Phrase[] = [];
  /** The very digits that are typed. */
  const typed = (path: string): Phrase => {
    const line = s.lines.find((l) => l.path === path);
    if (!line) return "";
    return {
      ...inWords(path, Number(line.digits), line.unit, `${line.digits}${line.unit ? `\u00a0${line.unit}` : ""}`),
      asTyped: true,
    };
  };
  if (s.smoothing && s.smoothing.value !== null) {
    // A number without a unit says what it is: a factor, or so many samples.
    const line = s.lines.find((l) => l.path === "settings.smoothing.value");
    const kind = line?.unit ? "Smoothing" : (line?.label ?? "Smoothing").replace(/ \(.*\)$/, "");
    phrases.push(`${kind} `, typed("settings.smoothing.value"));
  }
  if (s.deadband) phrases.push(phrases.length ? ", deadband " : "Deadband ", typed("settings.deadband.value"));
  if (s.warning)
    phrases.push(phrases.length ? ", warn at " : "Warn at ", typed("settings.warning.at"), ...usableAt(answers));
  if (phrases.length) phrases.push(".");
  const quoted = [answers.curve, answers.table, answers.settings, answers.display, answers.lowFuel].filter(
    (a) => a.state === "ready",
  );
  return {
    name: "Type in",
    trust: weakest(quoted.map((a) => trustOf(a as Answer<unknown>).trust)),
    parts: phrases.length ? [{ phrases, leaf: at("hand-over") }] : [],
  };
}
