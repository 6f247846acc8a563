/**
 * Theme: the page's tokens and the figures' style as text, so that the page and a standalone report draw alike.
 * Hues are taken from Okabe and Ito's published colour-blind-safe set and always paired with a shape or a dash.
 */

const light = `
  --paper: #fbf8f1; --ink: #25211b; --soft: #5f574a; --rule: #d6cdbc; --edge: #8a806f; --wash: #f2ecdf;
  --yours: #5a3a8e;
  --hue: #0072b2; --hue-text: #005f96; --band: #d7e8f2; --doubt: #d55e00; --raw: #8f8576;`;
const dark = `
  --paper: #252019; --ink: #ece3d3; --soft: #bdb29f; --rule: #4a4237; --edge: #8c8170; --wash: #302a21;
  --yours: #c3aff4;
  --hue: #56b4e9; --hue-text: #7cc4ee; --band: #2b4655; --doubt: #e69f00; --raw: #85796a;`;
const print = `
  --hair: .5pt; --line: .75pt;
  --paper: #fff; --ink: #000; --soft: #3c3c3c; --rule: #bdbdbd; --edge: #666; --wash: #f3f3f3; --yours: #3a2562;
  --hue: #0072b2; --hue-text: #00466f; --band: #dbe7ee; --doubt: #c25400; --raw: #8a8a8a;`;

/** Custom properties: faces, sizes, widths, colours for lamp-lit, daylight and printed paper. */
export const tokensCss = `
:root {
  color-scheme: light dark;
  --text: "Plain signs", "Vollkorn Variable", "Vollkorn", Georgia, "Times New Roman", serif;
  --figures: "Overpass Variable", "Overpass", "Segoe UI", "Helvetica Neue", Arial, sans-serif;
  --t-margin: 15.5px; --t-body: 18.5px; --t-finding: 29px; --t-title: 46px; --t-card: 104px;
  --gutter: 104px; --main: 640px; --gap: 56px; --margin: 272px;
  --hair: 1px; --line: 1.25px; --firm: 2.25px;
  --hatch: repeating-linear-gradient(-45deg, var(--ink) 0 1.5px, transparent 1.5px 5px);${light}
}
@media (prefers-color-scheme: dark) { :root {${dark}
} }
@media print { :root { color-scheme: light;${print}
} }
`;

/** Everything that an SVG of a figure refers to by class. */
export const figureCss = `
svg.drawn { display: block; width: 100%; height: auto; overflow: visible; }
svg.drawn text { font-family: var(--figures); font-variant-numeric: lining-nums tabular-nums; fill: var(--ink); }
svg.drawn .tick { font-size: 13.5px; fill: var(--soft); } svg.drawn .axt { font-size: 14px; fill: var(--soft); }
svg.drawn .lab { font-size: 14px; paint-order: stroke; stroke: var(--paper); stroke-width: 4px; stroke-linejoin: round; }
svg.drawn .tiny { font-size: 12px; fill: var(--soft); }
svg.drawn .strong { font-weight: 650; } svg.drawn .lab.hue { fill: var(--hue-text); } svg.drawn .lab.yours { fill: var(--yours); }
.axis { stroke: var(--edge); stroke-width: 1; } .grid { stroke: var(--rule); stroke-width: .75; } .zero { stroke: var(--ink); stroke-width: 1; }
.curve { fill: none; stroke: var(--hue); stroke-width: 2.25; stroke-linejoin: round; }
.band { fill: var(--band); stroke: none; } .region { fill: var(--wash); stroke: none; }
.compare { fill: none; stroke: var(--ink); stroke-width: 1.25; stroke-dasharray: 7 5; }
.other { fill: none; stroke: var(--soft); stroke-width: 1.25; } .other.o1 { stroke-dasharray: 9 4; } .other.o2 { stroke-dasharray: 4 3; }
.other.o3 { stroke-dasharray: 2 4; stroke-width: 1.6; stroke-linecap: round; }
.raw { fill: none; stroke: var(--raw); stroke-width: .8; } .smoothed { fill: none; stroke: var(--hue); stroke-width: 2; stroke-linejoin: round; }
.shown { fill: none; stroke: var(--ink); stroke-width: 2.5; stroke-linejoin: miter; }
.limit { fill: none; stroke: var(--yours); stroke-width: 1.5; }
.floor { fill: none; stroke: var(--soft); stroke-width: 1; stroke-dasharray: 1 4; stroke-linecap: round; }
.truth { fill: none; stroke: var(--ink); stroke-width: 1; stroke-dasharray: 1 3; stroke-linecap: round; }
.bar { stroke: var(--hue); stroke-width: 1.5; } .bar.sus { stroke: var(--doubt); stroke-width: 1.75; }
.accepted { fill: var(--hue); stroke: var(--paper); stroke-width: 1.5; }
.suspect { fill: var(--paper); stroke: var(--doubt); stroke-width: 2.25; stroke-linejoin: round; }
.set-aside { fill: none; stroke: var(--soft); stroke-width: 2; stroke-linecap: round; }
.plain { fill: var(--paper); stroke: var(--hue); stroke-width: 1.5; }
.written { stroke: var(--ink); stroke-width: 2.25; }
.dim { stroke: var(--ink); stroke-width: 1.1; }
.chosen { fill: none; stroke: var(--yours); stroke-width: 3.2; stroke-linecap: round; stroke-linejoin: round; }
.chosen.under { stroke: var(--paper); stroke-width: 8; }
path.rug { fill: none; stroke: var(--raw); stroke-width: .8; } path.rug.smoothed { stroke: var(--hue); stroke-width: 1; } path.rug.shown { stroke: var(--ink); stroke-width: 2; }
svg.key-mark { display: inline-block; width: 15px; height: 15px; vertical-align: -2px; overflow: visible; }
`;
