/**
 * The smoothing problem as a chain: integrated random walk for the curve and random walk for the summed errors of the
 * pours, so that likelihood and scores of everything that may be wrong cost one pass forward and one back (Kalman filter
 * and disturbance smoother; Harvey and Koopman 1992, Durbin and Koopman 2012: from memory). Same model as the dense form.
 */

/** What the settings of a grid have in common. Places rise (or stand) from node to node. */
export interface Chain {
  /** Place of each node; a node without a reading stands where the curve may bend. */
  x: Float64Array;
  /** 1 where a reading stands. */
  seen: Uint8Array;
  y: Float64Array;
  /** Variance of the reading itself that is known, and the part that the setting's factor multiplies. */
  own: Float64Array;
  readingVariance: Float64Array;
  /** What a unit of the summed pour error does to the reading. */
  slope: Float64Array;
  /** Variance that the summed pour error gains before this reading. */
  pour: Float64Array;
  /** Variance that the slope of the curve gains after this node: a bend. */
  bend: Float64Array;
  /** How much faster than at unit roughness the slope wanders from the node before to this one. */
  pace: Float64Array;
}

export interface Noise {
  factor: number;
  scatter: number;
  roughness: number;
  logPrior: number;
}

/** Scores and informations per setting and node, row by row (setting × node). */
export interface Scores {
  logLikelihood: Float64Array;
  /** A shift of the summed pour error before the node's reading, of the reading alone, of the slope after the node. */
  pourScore: Float64Array;
  pourInformation: Float64Array;
  readingScore: Float64Array;
  readingInformation: Float64Array;
  bendScore: Float64Array;
  bendInformation: Float64Array;
}

/** Level and slope at the first node are as good as free: variances in ranges of the coordinate. */
const freeLevel = 100;
const freeSlope = 400;

/** log likelihood at each setting. */
export function chainLikelihoods(chain: Chain, settings: Noise[]): Float64Array {
  const logs = new Float64Array(settings.length);
  for (let k = 0; k < logs.length; k++) logs[k] = forwardPass(chain, settings[k]!, null);
  return logs;
}

/** log evidence: likelihoods averaged over the prior of the settings. */
export function chainEvidence(chain: Chain, settings: Noise[]): number {
  return averaged(chainLikelihoods(chain, settings), settings);
}

export function averaged(logLikelihood: Float64Array, settings: Noise[]): number {
  let top = Number.NEGATIVE_INFINITY;
  for (let k = 0; k < settings.length; k++) top = Math.max(top, logLikelihood[k]! + settings[k]!.logPrior);
  let sum = 0;
  let prior = 0;
  for (let k = 0; k < settings.length; k++) {
    sum += Math.exp(logLikelihood[k]! + settings[k]!.logPrior - top);
    prior += Math.exp(settings[k]!.logPrior);
  }
  return top + Math.log(sum / prior);
}

/**
 * Scores of every shift at every node, at each setting.
 * @param into scores that are no longer needed: their arrays are written over where they are large enough.
 */
export function chainScores(chain: Chain, settings: Noise[], into?: Scores): Scores {
  const n = chain.x.length;
  const rows = () => new Float64Array(settings.length * n);
  const room = into && into.pourScore.length >= settings.length * n && into.logLikelihood.length >= settings.length;
  const scores: Scores = room
    ? into
    : {
        logLikelihood: new Float64Array(settings.length),
        pourScore: rows(),
        pourInformation: rows(),
        readingScore: rows(),
        readingInformation: rows(),
        bendScore: rows(),
        bendInformation: rows(),
      };
  const store = storeFor(n);
  settings.forEach((setting, k) => {
    scores.logLikelihood[k] = forwardPass(chain, setting, store);
    backwardPass(chain, store, scores, k * n);
  });
  return scores;
}

/** What the filter did at each node: innovation, its variance, gains of level, slope and summed error. */
export interface Store {
  error: Float64Array;
  variance: Float64Array;
  gain: Float64Array;
}

export const storeFor = (n: number): Store => ({
  error: new Float64Array(n),
  variance: new Float64Array(n),
  gain: new Float64Array(3 * n),
});

/** Numbers of a record: the filter's state, and the log likelihood up to there. */
export const inRecord = 10;

/** What the filter knows before every so-manieth node of a setting's pass: taken up from record `begin` on, or written where that is null. */
export interface Records {
  values: Float64Array;
  /** Nodes from one record to the next. */
  every: number;
  begin: number | null;
}

/**
 * Kalman filter on level, slope and summed pour error, put into `store` where one is given.
 * @returns the log likelihood without its constant.
 */
export function forwardPass(chain: Chain, setting: Noise, store: Store | null, records: Records | null = null): number {
  const { x, seen, y, own, readingVariance, slope, pour, bend, pace } = chain;
  const n = x.length;
  const rough = setting.roughness ** 2;
  const factor2 = setting.factor ** 2;
  const scatter2 = setting.scatter ** 2;
  let h = y[0]!;
  let s = 1;
  let e = 0;
  let p11 = freeLevel;
  let p12 = 0;
  let p13 = 0;
  let p22 = freeSlope;
  let p23 = 0;
  let p33 = 0;
  let log = 0;
  let start = 0;
  const every = records ? records.every : 1;
  const written = records?.begin === null ? records.values : null;
  if (records && records.begin !== null) {
    const { values, begin } = records;
    const at = begin * inRecord;
    h = values[at]!;
    s = values[at + 1]!;
    e = values[at + 2]!;
    p11 = values[at + 3]!;
    p12 = values[at + 4]!;
    p13 = values[at + 5]!;
    p22 = values[at + 6]!;
    p23 = values[at + 7]!;
    p33 = values[at + 8]!;
    log = values[at + 9]!;
    start = begin * every;
  }
  for (let i = start; i < n; i++) {
    if (written && i % every === 0) {
      const at = (i / every) * inRecord;
      written[at] = h;
      written[at + 1] = s;
      written[at + 2] = e;
      written[at + 3] = p11;
      written[at + 4] = p12;
      written[at + 5] = p13;
      written[at + 6] = p22;
      written[at + 7] = p23;
      written[at + 8] = p33;
      written[at + 9] = log;
    }
    if (i > 0) {
      const dx = x[i]! - x[i - 1]!;
      const walk = rough * pace[i]! * dx;
      h += dx * s;
      p11 += dx * (2 * p12 + dx * p22) + (walk * dx * dx) / 3;
      p12 += dx * p22 + 0.5 * walk * dx;
      p13 += dx * p23;
      p22 += walk;
    }
    p33 += pour[i]!;
    if (seen[i] === 1) {
      const b = slope[i]!;
      const m1 = p11 + b * p13;
      const m2 = p12 + b * p23;
      const m3 = p13 + b * p33;
      const f = m1 + b * m3 + own[i]! + factor2 * readingVariance[i]! + scatter2;
      const v = y[i]! - h - b * e;
      const g = 1 / f;
      const k1 = m1 * g;
      const k2 = m2 * g;
      const k3 = m3 * g;
      h += k1 * v;
      s += k2 * v;
      e += k3 * v;
      p11 -= k1 * m1;
      p12 -= k1 * m2;
      p13 -= k1 * m3;
      p22 -= k2 * m2;
      p23 -= k2 * m3;
      p33 -= k3 * m3;
      log += Math.log(f) + v * v * g;
      if (store) {
        store.error[i] = v;
        store.variance[i] = f;
        store.gain[3 * i] = k1;
        store.gain[3 * i + 1] = k2;
        store.gain[3 * i + 2] = k3;
      }
    }
    p22 += bend[i]!;
  }
  return -0.5 * log;
}

/** Disturbance smoother: how the log likelihood answers to a shift at each node. */
function backwardPass(chain: Chain, store: Store, scores: Scores, row: number): void {
  const { x, seen, slope } = chain;
  const { error, variance, gain } = store;
  let r1 = 0;
  let r2 = 0;
  let r3 = 0;
  let n11 = 0;
  let n12 = 0;
  let n13 = 0;
  let n22 = 0;
  let n23 = 0;
  let n33 = 0;
  for (let i = x.length - 1; i >= 0; i--) {
    scores.bendScore[row + i] = r2;
    scores.bendInformation[row + i] = n22;
    if (seen[i] === 1) {
      const b = slope[i]!;
      const k1 = gain[3 * i]!;
      const k2 = gain[3 * i + 1]!;
      const k3 = gain[3 * i + 2]!;
      const w1 = n11 * k1 + n12 * k2 + n13 * k3;
      const w2 = n12 * k1 + n22 * k2 + n23 * k3;
      const w3 = n13 * k1 + n23 * k2 + n33 * k3;
      const u = error[i]! / variance[i]! - (k1 * r1 + k2 * r2 + k3 * r3);
      const d = 1 / variance[i]! + k1 * w1 + k2 * w2 + k3 * w3;
      scores.readingScore[row + i] = u;
      scores.readingInformation[row + i] = d;
      r1 += u;
      r3 += b * u;
      n11 += d - 2 * w1;
      n12 -= w2;
      n13 += b * d - w3 - b * w1;
      n23 -= b * w2;
      n33 += b * b * d - 2 * b * w3;
    }
    scores.pourScore[row + i] = r3;
    scores.pourInformation[row + i] = n33;
    if (i > 0) {
      const dx = x[i]! - x[i - 1]!;
      r2 += dx * r1;
      n22 += dx * (2 * n12 + dx * n11);
      n12 += dx * n11;
      n23 += dx * n13;
    }
  }
}
