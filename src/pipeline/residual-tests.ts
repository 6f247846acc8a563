/** What is left over: tests on whitened residuals (raw ones of cumulative volumes are correlated by nature), each with a plain reading. */
import { mean } from "simple-statistics";
import { chiSquaredProbability, normalProbability, normalQuantile, tProbability } from "../math/distributions";
import { durbinWatson } from "../math/durbin-watson";
import { createRandom } from "../math/random";
import type { ResidualTest } from "./curve-types";

/** Runs test about zero: number of runs, its two-sided normal p, and whether they are more than chance makes (Wald and Wolfowitz 1940, from memory). */
export function runsTest(e: number[]): { runs: number; p: number; many: boolean } {
  const signs = e.filter((v) => v !== 0).map((v) => v > 0);
  const plus = signs.filter(Boolean).length;
  const minus = signs.length - plus;
  let runs = signs.length > 0 ? 1 : 0;
  for (let i = 1; i < signs.length; i++) if (signs[i] !== signs[i - 1]) runs++;
  const n = plus + minus;
  if (plus === 0 || minus === 0) return { runs, p: 2 * 0.5 ** n, many: false };
  const expected = 1 + (2 * plus * minus) / n;
  const variance = (2 * plus * minus * (2 * plus * minus - n)) / (n * n * (n - 1));
  const z = variance > 0 ? (runs - expected) / Math.sqrt(variance) : 0;
  return { runs, p: 2 * normalProbability(-Math.abs(z)), many: z > 0 };
}

/** Shapiro–Francia: squared correlation of the ordered values with normal scores; p by simulation under the normal (seeded). */
export function shapiroFrancia(e: number[], seed = 1): { w: number; p: number } {
  const { scores, drawn } = underNormal(e.length, seed);
  const w = squaredCorrelation(sorted(e), scores);
  return { w, p: (drawn.filter((v) => v <= w).length + 1) / (drawn.length + 1) };
}

interface UnderNormal {
  n: number;
  seed: number;
  /** Where the ordered values of a normal sample are expected. */
  scores: number[];
  /** The statistic of seeded normal samples. */
  drawn: number[];
}
let lastDrawn: UnderNormal | null = null;

/** What the statistic comes to in normal samples of n. It hangs on n and the seed alone, and mostly n is that of the time before: that one is kept. */
function underNormal(n: number, seed: number): UnderNormal {
  if (lastDrawn?.n === n && lastDrawn.seed === seed) return lastDrawn;
  const scores = Array.from({ length: n }, (_, i) => normalQuantile((i + 1 - 0.375) / (n + 0.25)));
  const random = createRandom(seed);
  // A long sample varies little from one to the next: 400 up to 500 residuals, 100 of 2,000.
  const trials = Math.min(400, Math.ceil(200_000 / n));
  const drawn = Array.from({ length: trials }, () =>
    squaredCorrelation(sorted(Array.from({ length: n }, () => random.normal())), scores),
  );
  lastDrawn = { n, seed, scores, drawn };
  return lastDrawn;
}

const sorted = (values: number[]): number[] => Array.from(Float64Array.from(values).sort());

function squaredCorrelation(a: number[], b: number[]): number {
  const ma = mean(a);
  const mb = mean(b);
  let ab = 0;
  let aa = 0;
  let bb = 0;
  a.forEach((v, i) => {
    ab += (v - ma) * (b[i]! - mb);
    aa += (v - ma) ** 2;
    bb += (b[i]! - mb) ** 2;
  });
  return aa > 0 && bb > 0 ? (ab * ab) / (aa * bb) : 1;
}

const byTurns = "a curve that follows each step, fixed levels of the sender, or pours made up for by the next";

/**
 * @param byReading whitened residuals in order of the reading, `fitted` beside them in litres; @param byOrder in order of pouring.
 * @param freedom residual degrees of freedom; under 8 the plain reading is "too few to tell".
 */
export function residualTests(
  byReading: number[],
  fitted: number[],
  byOrder: number[],
  freedom: number,
): ResidualTest[] {
  const n = byReading.length;
  if (n < 4) return [];
  const few = freedom < 8;
  const say = (p: number, good: string, bad: string) => (few ? "too few steps to tell" : p < 0.05 ? bad : good);
  const runs = runsTest(byReading);
  const dw = durbinWatson(byReading);
  const dwP = 2 * normalProbability(-Math.abs((dw - 2) / 2) * Math.sqrt(n));
  const sf = shapiroFrancia(byReading);
  const chi = byOrder.reduce((s, v) => s + v * v, 0);
  const chiP = freedom > 0 ? 1 - chiSquaredProbability(chi, freedom) : null;
  const spread = rankCorrelation(byReading.map(Math.abs), fitted);
  const t = Math.abs(spread) < 1 ? spread * Math.sqrt((n - 2) / (1 - spread * spread)) : 0;
  const spreadP = 2 * (1 - tProbability(Math.abs(t), n - 2));
  return [
    {
      name: "runs",
      statistic: runs.runs,
      p: runs.p,
      means: say(
        runs.p,
        "above and below the curve take turns as chance would",
        runs.many
          ? `steps above and below the curve take turns more often than chance would: ${byTurns}`
          : "steps above and below the curve come in clumps: a bend is missing",
      ),
      source: "Wald and Wolfowitz 1940 (from memory)",
    },
    {
      name: "Durbin-Watson",
      statistic: dw,
      p: dwP,
      means: say(
        dwP,
        "neighbouring steps do not follow each other",
        // 2 is what errors without a neighbour's mark come to; over it neighbours err in opposite ways.
        dw > 2
          ? `neighbouring steps err to opposite sides: ${byTurns}`
          : "neighbouring steps err alike: a bend is missing, or a pour error is larger than stated",
      ),
      source: "Durbin and Watson 1951; normal approximation",
    },
    {
      name: "normality",
      statistic: sf.w,
      p: sf.p,
      means: say(sf.p, "what is left over looks normal", "a few steps stand out, or errors are skew"),
      source: "Shapiro and Francia 1972 (from memory); p by simulation",
    },
    {
      name: "spread against level",
      statistic: spread,
      p: spreadP,
      means: say(spreadP, "the spread is the same at all levels", "the spread changes with the level"),
      source: "rank correlation (Spearman)",
    },
    {
      name: "size against stated errors",
      statistic: chi,
      p: chiP,
      means:
        chiP === null
          ? "too few steps to tell"
          : chiP < 0.05
            ? "residuals are larger than the stated errors allow; the band was widened"
            : "residuals are no larger than the stated errors allow",
      source: "chi-squared test, JCGM 100:2008 and ISO/TS 28037:2010, 6.3",
    },
  ];
}

function rankCorrelation(a: number[], b: number[]): number {
  const ranks = (v: number[]) => {
    const order = v.map((_, i) => i).sort((i, j) => v[i]! - v[j]!);
    const r = new Array<number>(v.length);
    order.forEach((i, k) => {
      r[i] = k;
    });
    return r;
  };
  const ra = ranks(a);
  const rb = ranks(b);
  const [ma, mb] = [mean(ra), mean(rb)];
  const sign = ra.reduce((s, v, i) => s + (v - ma) * (rb[i]! - mb), 0) >= 0 ? 1 : -1;
  return sign * Math.sqrt(squaredCorrelation(ra, rb));
}
