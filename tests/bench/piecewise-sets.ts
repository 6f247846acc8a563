/**
 * Hard sets for the search of breakpoints: 28 seeded ones, 12 to 5000 points, 1 to 6 breakpoints. What makes them hard is named
 * in each: noise as large as what a break changes, noise that is correlated along x (an AR(1) course, or pours that add up),
 * breaks close together, weak changes of slope, uneven and repeated x. A set with `covariance` is fitted with it.
 */
import { createRandom, type Random } from "../../src/math/random";

export interface HardSet {
  name: string;
  x: number[];
  y: number[];
  /** Breakpoints to be fitted. */
  k: number;
  /** Of y, row by row; null: equal weights. */
  covariance: number[][] | null;
}

export interface Published {
  program: string;
  date: string;
  /** One a set: least over R's seeds, R's default seed (null: it failed), its CPU, seeds that gave a fit, least known of all. */
  sets: { name: string; least: number | null; first: number | null; cpu_s: number; fits: number; best: number }[];
}

type Spacing = "even" | "uneven" | "repeated" | "clustered";
/** White noise; AR(1) with the given correlation of neighbours; or a sum of independent steps beside a white part. */
type Noise = { kind: "white" } | { kind: "course"; rho: number } | { kind: "sum" };

interface Plan {
  n: number;
  k: number;
  spacing: Spacing;
  noise: Noise;
  /** Standard deviation of the noise, for a range of 1 in x and slopes near 1. */
  sd: number;
  breaks: number[];
  /** Change of slope at each break. */
  changes: number[];
  whitened?: boolean;
}

const course = (rho: number): Noise => ({ kind: "course", rho });
const white: Noise = { kind: "white" };
const sum: Noise = { kind: "sum" };

// biome-ignore format: one set a line
const plans: Plan[] = [
  { n: 12, k: 1, spacing: "even", noise: white, sd: 0.03, breaks: [0.55], changes: [0.4] },
  { n: 12, k: 2, spacing: "uneven", noise: sum, sd: 0.04, breaks: [0.3, 0.7], changes: [0.8, -0.7] },
  { n: 15, k: 3, spacing: "even", noise: sum, sd: 0.03, breaks: [0.25, 0.5, 0.75], changes: [0.8, -1.2, 0.9], whitened: true },
  { n: 15, k: 2, spacing: "repeated", noise: white, sd: 0.05, breaks: [0.4, 0.6], changes: [1, -1.2] },
  { n: 20, k: 2, spacing: "uneven", noise: course(0.6), sd: 0.02, breaks: [0.48, 0.56], changes: [3, -3] },
  { n: 25, k: 3, spacing: "uneven", noise: course(0.8), sd: 0.04, breaks: [0.2, 0.5, 0.8], changes: [-0.6, 0.8, -0.7] },
  { n: 30, k: 4, spacing: "even", noise: white, sd: 0.04, breaks: [0.2, 0.4, 0.6, 0.8], changes: [1, -1, 1, -1] },
  { n: 30, k: 3, spacing: "clustered", noise: sum, sd: 0.04, breaks: [0.3, 0.45, 0.7], changes: [0.8, -0.9, 0.5], whitened: true },
  { n: 30, k: 2, spacing: "even", noise: course(0.9), sd: 0.05, breaks: [0.35, 0.65], changes: [0.3, -0.3] },
  { n: 40, k: 5, spacing: "uneven", noise: white, sd: 0.03, breaks: [0.15, 0.3, 0.5, 0.7, 0.85], changes: [1, -1.5, 1.5, -1, 0.8] },
  { n: 40, k: 2, spacing: "clustered", noise: course(0.8), sd: 0.03, breaks: [0.4, 0.8], changes: [0.15, -0.2] },
  { n: 60, k: 6, spacing: "uneven", noise: course(0.5), sd: 0.03, breaks: [0.1, 0.25, 0.4, 0.55, 0.7, 0.9], changes: [1, -1, 0.8, -0.8, 1, -1.2] },
  { n: 60, k: 5, spacing: "even", noise: sum, sd: 0.05, breaks: [0.15, 0.35, 0.5, 0.7, 0.85], changes: [0.7, -0.8, 0.6, -0.9, 0.8], whitened: true },
  { n: 60, k: 3, spacing: "repeated", noise: white, sd: 0.04, breaks: [0.46, 0.54, 0.8], changes: [2, -2, 0.4] },
  { n: 60, k: 4, spacing: "uneven", noise: course(0.9), sd: 0.05, breaks: [0.2, 0.4, 0.6, 0.8], changes: [0.4, -0.5, 0.5, -0.4] },
  { n: 60, k: 1, spacing: "clustered", noise: sum, sd: 0.05, breaks: [0.6], changes: [0.2], whitened: true },
  { n: 100, k: 4, spacing: "clustered", noise: white, sd: 0.06, breaks: [0.3, 0.36, 0.6, 0.66], changes: [2, -2, -2, 2] },
  { n: 100, k: 6, spacing: "even", noise: sum, sd: 0.05, breaks: [0.15, 0.3, 0.45, 0.6, 0.75, 0.9], changes: [0.5, -0.5, 0.5, -0.5, 0.5, -0.5] },
  { n: 200, k: 3, spacing: "repeated", noise: course(0.9), sd: 0.05, breaks: [0.3, 0.5, 0.7], changes: [0.3, -0.4, 0.3] },
  { n: 200, k: 5, spacing: "uneven", noise: course(0.8), sd: 0.06, breaks: [0.2, 0.35, 0.5, 0.65, 0.8], changes: [0.8, -1, 0.9, -0.8, 0.7], whitened: true },
  { n: 500, k: 2, spacing: "uneven", noise: course(0.95), sd: 0.06, breaks: [0.4, 0.7], changes: [0.3, -0.3] },
  { n: 500, k: 4, spacing: "even", noise: sum, sd: 0.06, breaks: [0.2, 0.4, 0.6, 0.8], changes: [0.5, -0.6, 0.5, -0.5] },
  { n: 500, k: 6, spacing: "repeated", noise: course(0.7), sd: 0.05, breaks: [0.12, 0.2, 0.45, 0.5, 0.75, 0.9], changes: [1, -1, 1.5, -1.5, 0.6, -0.8] },
  { n: 1000, k: 3, spacing: "clustered", noise: white, sd: 0.15, breaks: [0.3, 0.33, 0.75], changes: [4, -4, 0.4] },
  { n: 2000, k: 5, spacing: "uneven", noise: course(0.98), sd: 0.08, breaks: [0.15, 0.3, 0.5, 0.65, 0.85], changes: [0.5, -0.5, 0.6, -0.6, 0.5] },
  { n: 5000, k: 2, spacing: "even", noise: white, sd: 0.3, breaks: [0.45, 0.6], changes: [0.25, -0.3] },
  { n: 5000, k: 4, spacing: "repeated", noise: course(0.95), sd: 0.1, breaks: [0.2, 0.45, 0.5, 0.8], changes: [0.5, 1, -1.2, 0.4] },
  { n: 5000, k: 6, spacing: "uneven", noise: sum, sd: 0.08, breaks: [0.1, 0.25, 0.4, 0.6, 0.75, 0.9], changes: [0.6, -0.7, 0.6, -0.6, 0.7, -0.6] },
];

function places(spacing: Spacing, n: number, random: Random): number[] {
  const x = Array.from({ length: n }, (_, i) => {
    if (spacing === "even") return i / (n - 1);
    if (spacing === "clustered") {
      const middle = [0.15, 0.5, 0.85][random.below(3)]!;
      return random.uniform() < 0.3 ? random.uniform() : Math.min(1, Math.max(0, middle + 0.12 * random.normal()));
    }
    return random.uniform();
  });
  // Readings of few digits: about every third place is met twice or more.
  const rounded = spacing === "repeated" ? x.map((v) => Math.round(v * n) / n) : x;
  return rounded.sort((a, b) => a - b);
}

/** Covariance of the noise at places in rising order. */
function covarianceOf(noise: Noise, sd: number, n: number): number[][] {
  return Array.from({ length: n }, (_, i) =>
    Array.from({ length: n }, (_, j) => {
      if (noise.kind === "white") return i === j ? sd * sd : 0;
      if (noise.kind === "course") return sd * sd * noise.rho ** Math.abs(i - j);
      return sd * sd * ((Math.min(i, j) + 1) / n + (i === j ? 0.1 : 0));
    }),
  );
}

function draw(noise: Noise, sd: number, n: number, random: Random): number[] {
  let state = 0;
  return Array.from({ length: n }, (_, i) => {
    if (noise.kind === "white") return sd * random.normal();
    if (noise.kind === "course") {
      state = i === 0 ? random.normal() : noise.rho * state + Math.sqrt(1 - noise.rho ** 2) * random.normal();
      return sd * state;
    }
    state += random.normal() / Math.sqrt(n);
    return sd * (state + Math.sqrt(0.1) * random.normal());
  });
}

function make(plan: Plan, seed: number): HardSet {
  const random = createRandom(seed);
  const { n, k, noise, sd } = plan;
  const x = places(plan.spacing, n, random);
  const e = draw(noise, sd, n, random);
  const y = x.map((v, i) => v + plan.breaks.reduce((s, b, j) => s + plan.changes[j]! * Math.max(0, v - b), 0) + e[i]!);
  const what = noise.kind === "course" ? `AR ${noise.rho}` : noise.kind === "sum" ? "adding up" : "white";
  return {
    name: `${String(seed - 900).padStart(2, "0")}: n ${n}, k ${k}, ${plan.spacing}, ${what}${plan.whitened ? ", whitened" : ""}`,
    // Written and read back as decimal text, so that every program gets the same numbers.
    x: x.map((v) => Number(v.toFixed(8))),
    y: y.map((v) => Number(v.toFixed(8))),
    k,
    covariance: plan.whitened ? covarianceOf(noise, sd, n) : null,
  };
}

/** All of them, always the same. */
export const hardSets = (): HardSet[] => plans.map((plan, i) => make(plan, 901 + i));
