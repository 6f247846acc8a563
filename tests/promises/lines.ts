/** Lines of the report: a figure over many jobs, as numbers and as text. */
import { clopperPearson, mean, quantile } from "./score";

export interface Line {
  promise: string;
  jobs: number;
  value: string;
  /** The figures behind the text. */
  figures: Record<string, number>;
  beside: string;
}

export const present = <T>(x: (T | null | undefined)[]): T[] => x.filter((v): v is T => v !== null && v !== undefined);
export const two = (x: number) => (Number.isFinite(x) ? (Math.abs(x) >= 100 ? x.toFixed(0) : x.toPrecision(3)) : "–");
export const share = (x: number) => `${(100 * x).toFixed(1)} %`;

export function spread(promise: string, x: number[], unit: string, beside = ""): Line {
  const figures = { median: quantile(x, 0.5), mean: mean(x), p90: quantile(x, 0.9) };
  return {
    promise,
    jobs: x.length,
    value: `${two(figures.median)} / ${two(figures.mean)} / ${two(figures.p90)} ${unit}`,
    figures,
    beside,
  };
}

export function shareLine(promise: string, hits: number, n: number, beside = ""): Line {
  const [lower, upper] = clopperPearson(hits, n);
  return {
    promise,
    jobs: n,
    value: n > 0 ? `${share(hits / n)} (${share(lower)} to ${share(upper)})` : "no case",
    figures: { share: hits / n, lower, upper, hits, n },
    beside,
  };
}

/** Shares of points within jobs: the mean over jobs, its interval from the spread between jobs. */
export function coverageLine(promise: string, bands: { share: number; halfWidth: number }[]): Line {
  const shares = bands.map((b) => b.share);
  const middle = mean(shares);
  const sd = Math.sqrt(mean(shares.map((s) => (s - middle) ** 2)) * (shares.length / Math.max(1, shares.length - 1)));
  const half = (1.96 * sd) / Math.sqrt(Math.max(1, shares.length));
  const figures = {
    coverage: middle,
    lower: middle - half,
    upper: Math.min(1, middle + half),
    halfWidth: mean(bands.map((b) => b.halfWidth)),
  };
  return {
    promise,
    jobs: bands.length,
    value: bands.length > 0 ? `${share(middle)} (${share(figures.lower)} to ${share(figures.upper)})` : "no case",
    figures,
    beside: `mean half-width ${two(figures.halfWidth)} % of capacity`,
  };
}

/** Rows of cells, padded so that they stand under each other. */
export function columns(rows: string[][]): string {
  const widths = rows[0]!.map((_, c) => Math.max(...rows.map((r) => (r[c] ?? "").length)));
  return rows
    .map((r) =>
      r
        .map((cell, c) => cell.padEnd(widths[c]!))
        .join("  ")
        .trimEnd(),
    )
    .join("\n");
}
