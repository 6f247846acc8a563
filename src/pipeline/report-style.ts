/** The report's own style: the sheet of the page without anything that can be pressed. */
export const reportCss = `
* { box-sizing: border-box; }
html { background: var(--paper); color: var(--ink); -webkit-text-size-adjust: 100%; }
body { margin: 0 auto; font: 400 var(--t-body)/28px Georgia, "Times New Roman", serif; font-variant-numeric: lining-nums; max-width: 1130px; padding: 32px 64px 96px; }
p { margin: 0 0 12px; max-width: 580px; } b { font-weight: 650; } .q { white-space: nowrap; }
.small { font-size: var(--t-margin); line-height: 22px; color: var(--soft); }
.spread { display: grid; grid-template-columns: var(--gutter) minmax(0, 1fr) 40px 220px; } .spread > .no { grid-column: 1; } .spread > .main { grid-column: 2; min-width: 0; } .spread > .margin { grid-column: 4; font-size: var(--t-margin); line-height: 22px; }
.leaf { border-top: var(--line) solid var(--edge); padding: 28px 0 32px; } .opening { margin-bottom: 24px; } .opening > .main { position: relative; } .opening > .margin { padding-top: 34px; }
.no { font-size: 30px; line-height: 32px; } .no small { display: block; font-size: var(--t-margin); line-height: 20px; color: var(--soft); padding-right: 26px; } .no small b { display: block; color: var(--ink); }
.opening > .main::before, .row dt::after { content: ""; position: absolute; top: 5px; bottom: 6px; }
.holds > .opening > .main::before, .holds-if > .opening > .main::before, .row.holds dt::after, .row.holds-if dt::after { left: -19px; width: 2.25px; background: var(--ink); }
.holds-if > .opening > .main::after, .row.holds-if dt::before { content: ""; position: absolute; left: -23px; bottom: 6px; width: 10px; height: 22px; border: 1px solid var(--ink); background: var(--hatch) var(--paper); }
.doubtful > .opening > .main::before, .row.doubtful dt::after { left: -24px; width: 10px; border: 1px solid var(--ink); background: var(--hatch); }
.stuck > .opening > .main::before, .row.stuck dt::after { left: -19px; border-left: 2.25px dashed var(--ink); }
.handed-on { padding: 10px 0 4px; } .handed-on .finding { font-size: var(--t-body); line-height: 28px; } .handed-on .opening { margin-bottom: 8px; } .handed-on .no small { padding-right: 0; }
.question { font-style: italic; color: var(--soft); margin: 0 0 4px; } .finding { font-weight: 400; font-size: 26px; line-height: 34px; margin: 0 0 8px; max-width: none; }
.caution { font-size: var(--t-margin); line-height: 22px; } .note { border-left: var(--firm) solid var(--yours); padding-left: 14px; font-style: italic; color: var(--ink); white-space: pre-wrap; }
.head { padding: 8px 0 32px; } h1 { font-weight: 600; font-size: 42px; line-height: 48px; margin: 0 0 6px; overflow-wrap: anywhere; } .head .finding { margin: 20px 0; }
.summary { margin: 0; } .row { position: relative; border-top: var(--hair) solid var(--rule); padding: 12px 0; display: grid; grid-template-columns: 104px minmax(0, 1fr); } .row:last-child { border-bottom: var(--hair) solid var(--rule); } .row dt { font-weight: 650; } .row dd { margin: 0; min-width: 0; } .row dd p { margin: 0 0 4px; max-width: none; } .row dt::after { top: 16px; bottom: 14px; }
.mh { font-weight: 650; margin: 0 0 8px; } .contents { list-style: none; margin: 0; padding: 0; line-height: 25px; } .contents li { display: flex; align-items: baseline; } .contents .i { width: 26px; color: var(--soft); font: 13px var(--figures); } .contents .d { flex: 1; min-width: 10px; border-bottom: 1.5px dotted var(--edge); margin: 0 6px; transform: translateY(-4px); opacity: .75; } .contents .i { flex: none; } .contents .q { white-space: normal; } .contents .i + span { white-space: nowrap; } .contents span:last-child { text-align: right; } .contents .q { font-weight: inherit; } .contents .doubtful, .contents .stuck { font-weight: 650; }
figure { margin: 0 0 20px; } .key { font-size: var(--t-margin); line-height: 22px; color: var(--soft); margin: 2px 0 0; max-width: none; } .key > span { display: inline-block; margin-right: 20px; } .key svg.m { margin-right: 5px; } figcaption { font-weight: 650; line-height: 26px; margin: 0 0 10px; }
.scroll { overflow-x: auto; } table { border-collapse: collapse; font-size: var(--t-margin); line-height: 22px; margin: 0 0 20px; } th { font-weight: 400; text-align: left; color: var(--soft); } td, th { padding: 5px 0 4px 16px; vertical-align: baseline; } td:first-child, th:first-child { padding-left: 0; } tr { border-bottom: var(--hair) solid var(--rule); } .wide-table { width: 100%; } .wide-table th, .brought td:nth-child(-n + 3) { white-space: nowrap; } .type-in { width: 100%; margin: 3px 0 8px; } .type-in th { white-space: nowrap; } .type-in tbody + tbody td, .type-in tbody + tbody th { border-top: 8px solid transparent; }
.n { font-family: var(--figures); font-variant-numeric: lining-nums tabular-nums; text-align: right; white-space: nowrap; } .big { font-size: 20px; } .hash { font: 11.5px var(--figures); overflow-wrap: anywhere; } .entered::after { content: ""; display: inline-block; width: 14px; height: 14px; border: 1.25px solid var(--edge); }
.sign { display: grid; grid-template-columns: 1fr 1fr 100px; column-gap: 28px; margin: 72px 0 0; } .sign span { border-top: 1px solid var(--ink); padding-top: 4px; font-size: var(--t-margin); }
@media (max-width: 900px) { body { padding: 20px 24px 48px; } .spread { display: block; } .no { margin-bottom: 6px; } .opening > .main { margin-left: 22px; } .row { margin-left: 22px; } .opening > .margin { padding-top: 4px; margin-left: 22px; } }
@media print {
  :root { --t-margin: 8.8pt; --t-body: 10.4pt; --gutter: 21mm; }
  @page { size: A4; margin: 12mm 15mm 15mm 18mm; @bottom-right { content: counter(page) " of " counter(pages); font: 8pt sans-serif; color: #3c3c3c; } }
  * { print-color-adjust: exact; -webkit-print-color-adjust: exact; }
  body { padding: 0; max-width: none; line-height: 14.5pt; } .spread { display: grid; grid-template-columns: var(--gutter) minmax(0, 1fr) 6mm 44mm; }
  .opening > .main, .row, .opening > .margin { margin-left: 0; }
  .leaf { padding: 7pt 0 4pt; break-inside: avoid; } .leaf:has(figure + figure) { break-inside: auto; } .sheet { break-before: page; border-top: 0; } .sign { margin-top: 11mm; } .sheet ~ .sheet { break-before: auto; border-top: var(--line) solid var(--edge); } figure, tr { break-inside: avoid; } .opening { margin-bottom: 6pt; } .opening:not(:last-child) { break-after: avoid; } figure { margin-bottom: 5pt; } .opening > .margin { padding-top: 17pt; }
  h1 { font-size: 23pt; line-height: 28pt; } .finding { font-size: 13.4pt; line-height: 16.8pt; margin-bottom: 4pt; } .head .finding { margin: 10pt 0; } .question { font-size: 10.6pt; line-height: 14pt; } figcaption { line-height: 14pt; margin-bottom: 4pt; }
  .small, .margin, .caution, .key, table, .spread > .margin, .contents { line-height: 12.4pt; font-size: 8.8pt; } .no { font-size: 17pt; line-height: 16pt; } .no small { font-size: 8.8pt; line-height: 11.5pt; } td, th { padding: 1.5pt 0 1pt 8pt; } .contents .i { width: 14pt; } .contents .d { min-width: 4pt; margin: 0 2pt; } .no small { padding-right: 5mm; } .handed-on { padding: 6pt 0 2pt; } .handed-on .finding { font-size: 10.4pt; line-height: 14.5pt; } .big { font-size: 12pt; } .hash { font-size: 6.6pt; } .row { padding: 7pt 0; grid-template-columns: 19mm 1fr; } .type-in .n { font-size: 8pt; } .type-in td { padding-left: 4pt; }
}
`;
