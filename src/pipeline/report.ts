/**
 * Report: one HTML file that stands alone. No script, no outside font, drawings inside; readable without a network, in
 * print, and openable again because the notebook lies in it as data. Every word that came from outside is escaped.
 */

import type { Figure } from "../figure/figure";
import { keyShape } from "../figure/shapes";
import { drawFigure } from "../figure/svg";
import { figureCss, tokensCss } from "../figure/theme";
import { tied } from "../format";
import { type Said, saidIn } from "../said";
import type { Choices } from "./choices";
import { figuresOf } from "./figures/all";
import type { Answers } from "./index";
import type { SourceFile } from "./recording";
import { reportCss } from "./report-style";
import type { TableRow } from "./table";
import { leafTrust, waitsFor } from "./words/all";
import type { Beside, Phrase } from "./words/finding";
import { headOf } from "./words/head";
import { linesOf } from "./words/table";
import { volumeWordsOf } from "./words/volume";

export interface ReportContext {
  /** What was brought in, for the last page. */
  files: Pick<SourceFile, "name" | "kind" | "sha256">[];
  choices: Choices;
  /** The notebook as plain data of its file, or null when there is none (command line without a notebook). */
  notebook: unknown;
  /** ISO time at which it is handed over; null leaves the date to be written by hand. */
  issuedAt: string | null;
}

export const reportVersion = 1;

export const escapeHtml = (text: string): string =>
  text.replace(/[&<>"']/g, (c) => ({ "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;" })[c]!);

/** JSON that can stand in a data block: nothing in it can end the block or open a comment. */
export const escapeJson = (value: unknown): string =>
  JSON.stringify(value).replace(/</g, "\\u003c").replace(/>/g, "\\u003e").replace(/&/g, "\\u0026");

/** Text inside a CSS string: everything but plain letters, digits and blanks by its code. */
const escapeCss = (text: string): string =>
  text.replace(/[^A-Za-z0-9 ,.]/g, (c) => `\\${c.codePointAt(0)!.toString(16).padStart(6, "0")}`);

const sentence = (phrases: Phrase[]): string =>
  phrases
    .map((p) =>
      typeof p === "string"
        ? escapeHtml(tied(p))
        : `<b class="quantity"${p.path ? ` data-path="${escapeHtml(p.path)}" data-value="${p.value}"${p.sizeOnly ? " data-size-only" : ""}${p.times ? ` data-times="${p.times}"` : ""}` : ""}>${escapeHtml(p.text)}</b>`,
    )
    .join("");

interface NotebookData {
  title?: unknown;
  about?: unknown;
  notes?: Record<string, { text?: unknown; at?: unknown }>;
  /** Notes between leaves: `after` names the leaf that they follow. */
  looseNotes?: { after?: unknown; text?: unknown }[];
  decisions?: { what?: unknown; why?: unknown; at?: unknown }[];
}

const word = (v: unknown): string => (typeof v === "string" ? v : "");

/** @param answers of all stages. @returns the whole file. */
export function renderReport(answers: Answers, context: ReportContext): string {
  const head = headOf(answers);
  const figures = figuresOf(answers);
  const notebook = (context.notebook ?? {}) as NotebookData;
  const job = answers.job.state === "ready" ? answers.job.value : null;
  const volume = volumeWordsOf(job);
  const said = (words: Said) => saidIn(words, volume);
  const title = word(notebook.title) || job?.name || "A tank without a name";
  const open = answers.suspectSteps.state === "ready" ? answers.suspectSteps.value.notConfirmed : 0;
  const doubt =
    open > 0
      ? `On trial: ${open} ${open === 1 ? "decision" : "decisions"} not confirmed.`
      : "No decision is left open.";
  const leaves = head.leaves.map((leaf, i) => {
    const { trust, condition, word: trustWord } = leafTrust(leaf.name, leaf.answer, answers.curve);
    const waits = waitsFor(leaf.name, leaf.answer);
    const drawn = (figures[leaf.name] ?? [])
      .map(
        (f) =>
          `<figure><figcaption>${escapeHtml(f.finding)}</figcaption>${drawFigure(f, { width: 560, low: true })}${keyOf(f)}</figure>`,
      )
      .join("");
    const cautions =
      leaf.answer.state === "ready"
        ? leaf.answer.cautions
            .filter((c) => !leaf.finding?.says?.includes(c.code))
            .map((c) => `<p class="caution">${escapeHtml(tied(`${said(c.says)} ${said(c.remedy ?? "")}`))}</p>`)
            .join("")
        : "";
    const finding = leaf.finding
      ? sentence(leaf.finding.sentence)
      : leaf.answer.state === "stuck"
        ? escapeHtml(
            waits
              ? `Waits for the ${waits.title}, leaf ${waits.number}.`
              : `This cannot be said. ${said(leaf.answer.issue.says)}`,
          )
        : "Left out: being computed.";
    const note = word(notebook.notes?.[leaf.name]?.text);
    const loose = (notebook.looseNotes ?? [])
      .filter((n) => n.after === leaf.name && word(n.text).trim() !== "")
      .map(
        (n) =>
          `<div class="spread"><div class="main"><p class="note loose">${escapeHtml(word(n.text))}</p></div></div>`,
      )
      .join("");
    return `<section class="leaf ${trust}${waits ? " handed-on" : ""}"><div class="spread opening"><div class="leaf-number">${i + 1}<small>${escapeHtml(leaf.title)}<b>${trustWord}</b> ${escapeHtml(said(condition ?? ""))}</small></div><div class="main">${leaf.finding ? `<p class="question">${escapeHtml(leaf.finding.question)}</p>` : ""}<h2 class="finding">${finding}</h2>${leaf.finding?.further?.length ? `<p class="further">${sentence(leaf.finding.further)}</p>` : ""}${besideOf(leaf.finding?.beside ?? null)}${leaf.finding?.caution ? `<p class="caution">${escapeHtml(tied(said(leaf.finding.caution)))}</p>` : ""}${cautions}</div><div class="margin small">${leaf.finding ? `<p>${sentence(leaf.finding.condition)}</p>` : ""}${note ? `<p class="note">${escapeHtml(note)}</p>` : ""}</div></div>${drawn ? `<div class="spread"><div class="main">${drawn}</div></div>` : ""}${loose}</section>`;
  });
  return `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:">
<title>${escapeHtml(title)}</title>
<style>${tokensCss}${figureCss}${reportCss}
@page { @bottom-left { content: "${escapeCss(`${title}. ${doubt}`)}"; font: 8pt sans-serif; color: #3c3c3c; } }</style></head>
<body><main>
<header class="head"><div class="spread"><div class="main"><h1>${escapeHtml(title)}</h1>
<p class="small about">${escapeHtml(word(notebook.about))}</p>
<p class="finding">${sentence(head.verdict)}</p>
<dl class="summary">${head.rows
    .map(
      (row) =>
        `<div class="row ${row.trust}"><dt>${row.name}</dt><dd>${row.name === "Type in" ? tableOf(answers) : ""}${row.parts
          .map(
            (p) =>
              `<p>${sentence(p.phrases)}${p.leaf ? ` <span class="small">Leaf\u00a0${p.leaf.number}</span>` : ""}</p>`,
          )
          .join("")}</dd></div>`,
    )
    .join("")}</dl></div>
<div class="margin"><p class="margin-heading">Leaves and what they say</p><ol class="contents">${head.leaves
    .map(
      (l, i) =>
        `<li class="${leafTrust(l.name, l.answer, answers.curve).trust}"><span class="contents-number">${i + 1}</span><span>${escapeHtml(l.title)}</span><span class="leader"></span><span>${l.finding ? sentence(l.finding.short) : "waits"}</span></li>`,
    )
    .join("")}</ol></div></div></header>
${leaves.join("\n")}
${card(answers, doubt, open > 0)}
${provenance(answers, context, notebook, said)}
</main>
<script type="application/json" id="notebook">${escapeJson(context.notebook)}</script>
</body></html>
`;
}

/** What each shape of a figure means. */
const keyOf = (f: Figure): string =>
  f.key.length === 0
    ? ""
    : `<p class="key">${f.key.map((k) => `<span>${keyShape(k.role, k.nth)} ${escapeHtml(tied(k.text))}</span>`).join("")}</p>`;

/** A choice made by hand beside the recommendation, and what each does. */
function besideOf(beside: Beside | null): string {
  if (!beside) return "";
  const rows = beside.rows
    .map(
      (r) =>
        `<tr><th>${escapeHtml(r.what)}</th><td class="number">${sentence(r.yours)}</td><td class="number">${sentence(r.recommended)}</td></tr>`,
    )
    .join("");
  return `<table><thead><tr><th></th><th class="number">chosen by hand</th><th class="number">recommended</th></tr></thead><tbody>${rows}</tbody></table>${beside.after.length > 0 ? `<p class="small">${sentence(beside.after)}</p>` : ""}`;
}

/** Rows of the table side by side in the head: as many as a printed column holds. */
const mostInLine = 7;

function tableOf(answers: Answers): string {
  if (answers.table.state !== "ready") return "";
  const t = answers.table.value;
  // Wrapped like a line of text: what ran over the edge would be cut on paper. The last line is filled up, so that columns keep their width.
  const lines = linesOf(t.rows, mostInLine);
  const each = lines[0]?.length ?? 0;
  const cells = (line: TableRow[], pick: (r: TableRow) => string) =>
    Array.from({ length: each }, (_, i) => line[i])
      .map((r) => `<td class="number">${r ? escapeHtml(pick(r)) : ""}</td>`)
      .join("");
  const unit = (u: string) => ({ percent: "%", USgal: "US gal", impgal: "imp gal", ohm: "Ω", count: "counts" })[u] ?? u;
  const parts = lines.map(
    (line) =>
      `<tbody><tr><th scope="row">Reading, ${unit(t.readingUnit)}</th>${cells(line, (r) => r.typedReading)}</tr><tr><th scope="row">${t.base === "usable" ? "Usable" : "Volume"}, ${unit(t.volumeUnit)}</th>${cells(line, (r) => r.typedVolume)}</tr></tbody>`,
  );
  return `<div class="scroll"><table class="type-in">${parts.join("")}</table></div>`;
}

function card(answers: Answers, doubt: string, open: boolean): string {
  if (answers.settings.state !== "ready") return "";
  const rows = answers.settings.value.lines
    .map(
      (l) =>
        `<tr><td>${escapeHtml(l.label)}</td><td class="number big">${escapeHtml(l.digits)}</td><td>${escapeHtml(l.unit)}</td><td class="entered"></td></tr>`,
    )
    .join("");
  return `<section class="leaf sheet"><div class="spread"><div class="leaf-number"></div><div class="main"><h2 class="finding">Settings card</h2><table class="wide-table"><thead><tr><th>what</th><th class="number">type</th><th>unit</th><th>entered</th></tr></thead><tbody>${rows}</tbody></table><p${open ? ' class="caution"' : ""}>${escapeHtml(doubt)}</p></div></div></section>`;
}

function provenance(
  answers: Answers,
  context: ReportContext,
  notebook: NotebookData,
  said: (words: Said) => string,
): string {
  const rows = new Map<string, number>();
  for (const a of [answers.fills, answers.drives])
    if (a.state === "ready") for (const r of a.value) rows.set(r.sha256, r.rows);
  const kinds = { fill: "fill run", drain: "drain run", drive: "drive log" } as const;
  const files = context.files
    .map(
      (f) =>
        `<tr><td>${escapeHtml(f.name)}</td><td>${kinds[f.kind]}</td><td class="number">${rows.get(f.sha256) ?? ""}</td><td class="hash">${escapeHtml(f.sha256)}</td></tr>`,
    )
    .join("");
  const byHand = (notebook.decisions ?? [])
    .map(
      (d) =>
        `<tr><td>${escapeHtml(word(d.what))}</td><td>${escapeHtml(word(d.why))}</td><td>${when(word(d.at))}</td></tr>`,
    )
    .join("");
  const treated =
    answers.suspectSteps.state !== "ready"
      ? ""
      : answers.suspectSteps.value.runs
          .flatMap((run) =>
            run.steps
              .filter((s) => !s.accepted || s.decidedBy !== null)
              .map(
                (s) =>
                  `<tr><td>${escapeHtml(run.file)}, step ${s.index}${s.accepted ? "" : ", set aside"}</td><td>${escapeHtml(said(s.reason ?? ""))}</td><td>${s.decidedBy === "technician" ? "by hand" : s.decidedBy === "rule" ? "by rule, not confirmed" : "by rule"}</td></tr>`,
              ),
          )
          .join("");
  const table = (columns: string[], body: string, cls = "") =>
    body
      ? `<table class="wide-table${cls ? ` ${cls}` : ""}"><thead><tr>${columns.map((c) => `<th>${c}</th>`).join("")}</tr></thead><tbody>${body}</tbody></table>`
      : "";
  return `<section class="leaf sheet"><div class="spread"><div class="leaf-number"></div><div class="main"><h2 class="finding">What all this stands on</h2>
${table(["brought in", "what", "rows", "SHA-256"], files, "brought")}
${table(["left out or changed", "why", "who"], treated)}
${table(["decided by hand", "why", "when"], byHand)}
<p class="small">Fillbook report ${reportVersion}, seed ${context.choices.seed}. Issued ${context.issuedAt ? when(context.issuedAt) : "on the date below"}. ${context.notebook === null ? "Made by a call on the command line: no notebook lies in this file." : "The notebook lies in this file: open the file in Fillbook to go on."}</p>
<div class="signatures"><span>Technician</span><span>Customer</span><span>Date</span></div></div></div></section>`;
}

/** `2026-11-21 14:26 UTC`: the same on every machine. */
const when = (iso: string): string =>
  /^\d{4}-\d\d-\d\dT\d\d:\d\d/.test(iso) ? `${iso.slice(0, 10)} ${iso.slice(11, 16)} UTC` : escapeHtml(iso);
