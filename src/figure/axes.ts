/** Axes: domains from the data, round ticks, and how they are written. */
import { scaleLinear, scaleLog } from "d3-scale";
import { decimalsOfStep, fixed } from "../format";
import type { Axis, Figure, Panel } from "./figure";

export interface Scale {
  (value: number): number;
  domain: [number, number];
  ticks: number[];
  write(value: number): string;
}

function extentOf(values: Iterable<number>, positive: boolean): [number, number] | null {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const v of values) {
    // Beyond these no figure of this trade lies, and differences would overflow.
    if (!(Math.abs(v) < 1e100) || (positive && v < 1e-100)) continue;
    if (v < low) low = v;
    if (v > high) high = v;
  }
  return low <= high ? [low, high] : null;
}

function* valuesX(figure: Figure): Generator<number> {
  for (const panel of figure.panels) {
    for (const s of panel.series) yield* s.x;
    for (const m of panel.marks) {
      if (m.kind === "gap" || m.kind === "vertical" || m.kind === "text") yield m.x;
      if (m.kind === "gap-x" || m.kind === "region") yield* [m.from, m.to];
    }
  }
}

function* valuesY(panel: Panel): Generator<number> {
  for (const s of panel.series) {
    if (s.kind === "line" || s.kind === "points") yield* s.y;
    if (s.kind === "points") yield* [...(s.lower ?? []), ...(s.upper ?? [])];
    if (s.kind === "band") yield* [...s.lower, ...s.upper];
  }
  for (const m of panel.marks) {
    if (m.kind === "gap") yield* [m.from, m.to];
    if (m.kind === "gap-x" || m.kind === "horizontal" || m.kind === "text") yield m.y;
  }
}

function domainOf(axis: Axis, values: Iterable<number>): [number, number] {
  const log = axis.scale === "log";
  const seen = extentOf(values, log) ?? (log ? [1, 10] : [0, 1]);
  let [low, high] = seen;
  const half = Math.max(Math.abs(low), Math.abs(high)) > 1e-50 ? Math.max(Math.abs(low), Math.abs(high)) / 2 : 0.5;
  if (!(high - low > 1e-12 * Math.max(Math.abs(low), Math.abs(high))) || high - low < 1e-100)
    [low, high] = log ? [low / 2, high * 2] : [low - half, high + half];
  if (log) {
    const room = (high / low) ** 0.04;
    const from = axis.from !== null && axis.from > 0 ? axis.from : low / room;
    const to = axis.to !== null && axis.to > from ? axis.to : high * room;
    return to > from ? [from, to] : [from, from * 10];
  }
  const room = (high - low) * 0.04;
  const from = axis.from ?? low - room;
  const to = axis.to ?? high + room;
  return to > from ? [from, to] : [from, from + 1];
}

export const domainX = (figure: Figure): [number, number] => domainOf(figure.x, valuesX(figure));

/** @param most ticks. A plain axis ends on a tick where one is near: a point beyond the last tick is read off nothing. */
export function domainY(panel: Panel, most = 6): [number, number] {
  const [low, high] = domainOf(panel.y, valuesY(panel));
  const ticks = fewTicks([low, high], most);
  const step = ticks.length > 1 ? ticks[1]! - ticks[0]! : 0;
  if (panel.y.scale === "log" || !(step > 0)) return [low, high];
  const over = Math.ceil(high / step - 1e-9) * step;
  const under = Math.floor(low / step + 1e-9) * step;
  return [
    panel.y.from === null && low - under < step / 3 ? under : low,
    panel.y.to === null && over - high < step / 3 ? over : high,
  ];
}

/** Ticks of a log axis: decades, and 2 and 5 between them where there is room. */
function logTicks(low: number, high: number, most: number): number[] {
  const first = Math.floor(Math.log10(low));
  const last = Math.ceil(Math.log10(high));
  const within = (v: number) => v >= low * (1 - 1e-9) && v <= high * (1 + 1e-9);
  const at = (steps: number[]) => {
    const ticks: number[] = [];
    for (let e = first; e <= last; e++) for (const s of steps) if (within(s * 10 ** e)) ticks.push(s * 10 ** e);
    return ticks;
  };
  // One tick tells no scale: a short axis is marked at every digit, a very short one like a plain axis.
  if (at([1, 2, 5]).length < 2) {
    const digits = at([1, 2, 3, 4, 5, 6, 7, 8, 9]);
    return digits.length >= 2 && digits.length <= most ? digits : fewTicks([low, high], most);
  }
  for (const steps of [[1, 2, 5], [1, 3], [1]]) {
    const ticks = at(steps);
    if (ticks.length <= most) return ticks;
  }
  const decades: number[] = [];
  const every = Math.ceil((last - first) / most);
  for (let e = first; e <= last; e += every) if (within(10 ** e)) decades.push(10 ** e);
  return decades;
}

export function createScale(axis: Axis, domain: [number, number], range: [number, number], most: number): Scale {
  const log = axis.scale === "log";
  const d3 = log ? scaleLog(domain, range) : scaleLinear(domain, range);
  const ticks = log ? logTicks(domain[0], domain[1], most) : fewTicks(domain, most);
  const step = ticks.length > 1 ? ticks[1]! - ticks[0]! : 1;
  // A tick is a round number: as many decimals as its step needs and no more.
  const plain = !log || ticks.some((t) => Number(t.toPrecision(1)) !== Number(t.toPrecision(6)));
  const decimals = plain ? Math.min(6, decimalsOfStep(Number(step.toPrecision(3)))) : null;
  // Far outside the frame is as good as anywhere outside: what lies there is clipped.
  const scale = ((v: number) => {
    if (log && v <= 0) return range[0];
    const at = d3(v);
    const far = v > domain[0] ? Math.sign(range[1] - range[0]) : Math.sign(range[0] - range[1]);
    return Number.isFinite(at) ? Math.max(-1e5, Math.min(1e5, at)) : 1e5 * far;
  }) as Scale;
  scale.domain = domain;
  scale.ticks = ticks;
  scale.write = (v) => fixed(v, decimals ?? Math.max(0, -Math.floor(Math.log10(Math.abs(v)) + 1e-9)));
  return scale;
}

function fewTicks(domain: [number, number], most: number): number[] {
  for (let n = most; n >= 2; n--) {
    const ticks = scaleLinear(domain, [0, 1]).ticks(n);
    // One number alone tells no scale: a low panel rather has a tick or two more than it has room for at ease.
    if (ticks.length <= most + 1 && ticks.length > 1) return ticks;
  }
  for (let n = 3; n <= 5; n++) {
    const ticks = scaleLinear(domain, [0, 1]).ticks(n);
    if (ticks.length > 1) return ticks;
  }
  return scaleLinear(domain, [0, 1]).ticks(2);
}

/** The words over an axis, its unit behind them unless they already say it. */
export function axisWords(axis: Axis): string {
  if (!axis.unit) return axis.label;
  const said = axis.unit === "L" ? /lit(re|er)s?\b/i.test(axis.label) : axis.label.endsWith(axis.unit);
  return said ? axis.label : axis.label ? `${axis.label}, ${axis.unit}` : axis.unit;
}
