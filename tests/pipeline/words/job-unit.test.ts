/** All that is read of the six examples, in another unit than the litre: no bare litre is left, but in what is typed into a device that takes litres. */
import { beforeAll, describe, expect, test } from "vitest";
import { type Answer, ready, valueIn } from "../../../src/answer";
import { analysisOf, cautionsOf } from "../../../src/pipeline/analysis";
import { figuresOf } from "../../../src/pipeline/figures/all";
import type { Answers } from "../../../src/pipeline/index";
import type { Job } from "../../../src/pipeline/job";
import { planPours } from "../../../src/pipeline/pour-plan";
import { readingUnitIn } from "../../../src/pipeline/reading-unit";
import { renderReport } from "../../../src/pipeline/report";
import { allFindings } from "../../../src/pipeline/words/all";
import { circuitWorking } from "../../../src/pipeline/words/circuit";
import { curveWorking } from "../../../src/pipeline/words/curve";
import { displayWorking } from "../../../src/pipeline/words/display";
import { driveLogWorking } from "../../../src/pipeline/words/drive-log";
import { endsWorking } from "../../../src/pipeline/words/ends";
import { fillRunWorking } from "../../../src/pipeline/words/fill-run";
import { allSaid, type Phrase, type WorkingLine } from "../../../src/pipeline/words/finding";
import { headOf } from "../../../src/pipeline/words/head";
import { jobWorking } from "../../../src/pipeline/words/job";
import { lowFuelWorking } from "../../../src/pipeline/words/low-fuel";
import { noiseWorking } from "../../../src/pipeline/words/noise";
import { rangeLeftWorking } from "../../../src/pipeline/words/range-left";
import { suspectStepsWorking } from "../../../src/pipeline/words/suspect-steps";
import { tableWorking } from "../../../src/pipeline/words/table";
import { trialWorking } from "../../../src/pipeline/words/trial";
import { verdictWorking } from "../../../src/pipeline/words/verdict";
import { volumeWordsOf, workingInUnit } from "../../../src/pipeline/words/volume";
import { type Quantity, volumeUnitSigns } from "../../../src/quantity";
import { isProse, published, type Said, saidIn } from "../../../src/said";
import { complaintNames, exampleNames, runExample } from "../example-run";

type Unit = "USgal" | "percent";
interface Read {
  where: string;
  text: string;
}

/** A litre in prose, or behind the comma of a column or an axis; not L/100 km, which is how a consumption is stated. */
const bareLitre = /(?:^|[\s\d±(])L(?:\/h|\/s| a second| an hour)?(?![\p{L}\d/])/u;
/** Numbers that are set have the litres that the device takes in brackets behind the job's unit. */
const inBrackets = (unit: Unit) =>
  new RegExp(`(${volumeUnitSigns[unit]}[^()]*) \\([\\d.]+\u00a0L(?: a second)?\\)`, "gu");
const leftIn = (read: Read[], unit: Unit) =>
  read.filter(({ text }) => bareLitre.test(text.replace(inBrackets(unit), "$1").replaceAll("\u00a0", " ")));

/** Typed into the device, or what percent are of: in litres in every unit. */
const staysInLitres = (q: Quantity, unit: Unit) => q.asTyped || (q.stated === "whole" && unit === "percent");
const phrases = (list: Phrase[], unit: Unit): string =>
  list.map((p) => (typeof p === "string" ? p : staysInLitres(p, unit) ? "" : p.text)).join("");

const inUnit = (answers: Answers, volumeUnit: Unit): Answers => ({
  ...answers,
  job: ready<Job>({ ...valueIn(answers.job)!, volumeUnit }),
});

function workings(answers: Answers): Record<string, WorkingLine[]> {
  const unit = readingUnitIn(answers);
  const of = <T>(answer: Answer<T>, lines: (value: T) => WorkingLine[]) => {
    const value = valueIn(answer);
    return value === null ? [] : lines(value);
  };
  return {
    job: of(answers.job, jobWorking),
    circuit: of(answers.circuit, (c) => circuitWorking(c, unit)),
    "fill-run": of(answers.fillRun, fillRunWorking),
    curve: of(answers.curve, curveWorking),
    "suspect-steps": of(answers.suspectSteps, suspectStepsWorking),
    "drive-log": of(answers.driveLog, driveLogWorking),
    noise: of(answers.noise, (n) => noiseWorking(n, unit)),
    display: of(answers.display, displayWorking),
    ends: of(answers.ends, (e) => endsWorking(e, unit)),
    table: of(answers.table, (t) => tableWorking(t, unit)),
    trial: of(answers.trial, trialWorking),
    "low-fuel": of(answers.lowFuel, lowFuelWorking),
    "range-left": of(answers.range, rangeLeftWorking),
    verdict: of(answers.verdict, verdictWorking),
  };
}

/** Every text that page, report and print write. */
function allRead(answers: Answers, unit: Unit): Read[] {
  const volume = volumeWordsOf(valueIn(answers.job));
  const read: Read[] = [];
  const put = (where: string, ...texts: (string | null | undefined)[]) => {
    for (const text of texts) if (text) read.push({ where, text });
  };
  for (const { name, finding, answer } of allFindings(answers)) {
    if (finding) {
      put(`${name}, finding`, ...[allSaid(finding), finding.short, finding.condition].map((p) => phrases(p, unit)));
      put(`${name}, caution of the words`, finding.caution === null ? null : saidIn(finding.caution, volume));
      put(`${name}, beside`, phrases(finding.beside?.after ?? [], unit));
      for (const r of finding.beside?.rows ?? [])
        put(`${name}, beside`, phrases([...r.yours, " ", ...r.recommended], unit));
    }
    if (answer.state === "stuck")
      put(`${name}, stuck`, saidIn(answer.issue.says, volume), saidIn(answer.issue.remedy ?? "", volume));
  }
  const head = headOf(answers);
  put("head", phrases(head.verdict, unit), ...head.rows.flatMap((r) => r.parts.map((p) => phrases(p.phrases, unit))));
  for (const [name, lines] of Object.entries(workings(answers)))
    for (const l of workingInUnit(lines, volume))
      put(`${name}, working`, l.what, l.formula, phrases(l.figures, unit), l.source);
  for (const { issue } of cautionsOf(answers))
    for (const said of [issue.says, issue.remedy, issue.remedyOnCommandLine, issue.condition])
      put(issue.code, said === undefined ? null : saidIn(said, volume));
  for (const f of Object.values(figuresOf(answers)).flat()) {
    const drawn = f.panels.flatMap((p) => [
      p.y.label,
      ...p.marks.map((m) => m.text),
      ...p.series.map((s) => s.name),
      ...(p.picks ?? []).map((k) => k.says),
    ]);
    put(
      `${f.id}, figure`,
      f.finding,
      f.x.label,
      f.x.unit,
      ...f.panels.map((p) => p.y.unit),
      ...f.key.map((k) => k.text),
      ...drawn,
    );
    // What is typed stands in the device's own unit, whatever the job is read in.
    const columns = f.table.columns.filter((c) => !c.endsWith(", as typed"));
    put(`${f.id}, table`, ...columns, ...f.table.rows.flat().filter((c) => typeof c === "string"));
  }
  const plan = planPours(valueIn(answers.job)!);
  for (const said of [...(plan?.why ?? []), ...(plan?.writeDown ?? [])]) put("pour sheet", saidIn(said, volume));
  return read;
}

/** All prose in the stages' values: what a leaf could show of them. */
function proseIn(value: unknown, found: Said[] = []): Said[] {
  if (isProse(value)) found.push(value);
  else if (Array.isArray(value)) for (const v of value) proseIn(v, found);
  else if (typeof value === "object" && value !== null && !ArrayBuffer.isView(value))
    for (const v of Object.values(value)) proseIn(v, found);
  return found;
}

describe.each([...exampleNames, ...complaintNames])("%s", (name) => {
  let run: ReturnType<typeof runExample>;
  beforeAll(() => {
    run = runExample(name);
  }, 300_000);

  test.each(["USgal", "percent"] as const)(
    "read in %s, has no bare litre on any leaf, in any figure or table",
    (unit) => {
      const answers = inUnit(run.answers, unit);
      const read = allRead(answers, unit);
      expect(read.length).toBeGreaterThan(80);
      expect(
        read.filter(({ text }) =>
          text.replaceAll("\u00a0", " ").includes(volumeUnitSigns[unit].replaceAll("\u00a0", " ")),
        ).length,
      ).toBeGreaterThan(20);
      expect(leftIn(read, unit)).toEqual([]);
      const volume = volumeWordsOf(valueIn(answers.job));
      const prose = proseIn(answers).map((said) => ({ where: published(said), text: saidIn(said, volume) }));
      expect(leftIn(prose, unit)).toEqual([]);
    },
  );

  test("is published in litres whatever the job's unit is, word for word", () => {
    const { job: _litres, ...litres } = analysisOf(run.answers, run.all);
    const { job: _gallons, ...gallons } = analysisOf(inUnit(run.answers, "USgal"), run.all);
    expect(gallons).toEqual(litres);
    expect(JSON.stringify(gallons)).not.toMatch(/\[object|"phrases"/);
  });

  test("is written into the report in the unit, with nothing lost on the way", () => {
    const answers = inUnit(run.answers, "USgal");
    const html = renderReport(answers, { files: [], choices: run.sources.choices, notebook: null, issuedAt: null });
    expect(html).not.toContain("[object");
    const volume = volumeWordsOf(valueIn(answers.job));
    for (const { issue } of cautionsOf(answers))
      if (isProse(issue.says) && saidIn(issue.says, volume) !== published(issue.says))
        expect(html.replaceAll("\u00a0", " ")).not.toContain(published(issue.says).replaceAll("\u00a0", " "));
  });
});
