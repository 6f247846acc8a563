/** A figure in the job's unit: its axes, marks and table. Its words are written in the unit already. */
import type { Figure, Mark, Panel, Series } from "../../figure/figure";
import type { VolumeWords } from "../../quantity";

/** A figure with its axes in litres drawn in the unit, and its table with it. Its words are written in the unit already. */
export function figureInUnit(figure: Figure, volume: VolumeWords): Figure {
  if (volume.litres === 1) return figure;
  const by = (v: number) => v / volume.litres;
  const same = (v: number) => v;
  const x = figure.x.unit === "L" ? by : same;
  const litresColumn = figure.table.columns.map((c) => c.endsWith(" L"));
  return {
    ...figure,
    x: axisIn(figure.x, volume),
    panels: figure.panels.map((panel): Panel => {
      const y = panel.y.unit === "L" ? by : same;
      return {
        ...panel,
        y: axisIn(panel.y, volume),
        series: panel.series.map((s) => seriesIn(s, x, y)),
        marks: panel.marks.map((m) => markIn(m, x, y)),
        ...(panel.picks ? { picks: panel.picks.map((p) => ({ ...p, x: x(p.x), y: y(p.y) })) } : {}),
      };
    }),
    table: {
      columns: figure.table.columns.map((c, k) => (litresColumn[k] ? `${c.slice(0, -1)}${volume.sign}` : c)),
      rows: figure.table.rows.map((row) =>
        row.map((cell, k) => (litresColumn[k] && typeof cell === "number" ? by(cell) : cell)),
      ),
    },
  };
}

const axisIn = (axis: Figure["x"], volume: VolumeWords): Figure["x"] =>
  axis.unit === "L"
    ? {
        ...axis,
        unit: volume.sign,
        from: axis.from === null ? null : axis.from / volume.litres,
        to: axis.to === null ? null : axis.to / volume.litres,
      }
    : axis;

type Scale = (v: number) => number;

function seriesIn(s: Series, x: Scale, y: Scale): Series {
  switch (s.kind) {
    case "line":
      return { ...s, x: s.x.map(x), y: s.y.map(y) };
    case "points":
      return {
        ...s,
        x: s.x.map(x),
        y: s.y.map(y),
        ...(s.lower ? { lower: s.lower.map(y) } : {}),
        ...(s.upper ? { upper: s.upper.map(y) } : {}),
      };
    case "band":
      return { ...s, x: s.x.map(x), lower: s.lower.map(y), upper: s.upper.map(y) };
    case "rug":
      return { ...s, x: s.x.map(x) };
  }
}

function markIn(m: Mark, x: Scale, y: Scale): Mark {
  switch (m.kind) {
    case "gap":
      return { ...m, x: x(m.x), from: y(m.from), to: y(m.to) };
    case "gap-x":
      return { ...m, y: y(m.y), from: x(m.from), to: x(m.to) };
    case "vertical":
      return { ...m, x: x(m.x) };
    case "horizontal":
      return { ...m, y: y(m.y) };
    case "region":
      return { ...m, from: x(m.from), to: x(m.to) };
    case "text":
      return { ...m, x: x(m.x), y: y(m.y) };
  }
}
