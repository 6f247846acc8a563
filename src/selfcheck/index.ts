/** Self-check: published cases and closed forms that the math is held to, one line each with its source. */

import { chanceChecks } from "./chance-checks";
import { fitChecks } from "./fit-checks";
import { lineChecks } from "./line-checks";
import { regressionChecks } from "./regression-checks";
import { sampleChecks } from "./sample-checks";
import { circuitChecks, signalChecks } from "./signal-checks";
import { outlierChecks, tableChecks } from "./statistics-checks";

/** One figure against its published value: relative, or absolute where the published value is 0. */
export interface Pair {
  name: string;
  value: number;
  expected: number;
  /** Largest relative difference that still counts as the same. */
  within: number;
}

export interface Check {
  id: string;
  title: string;
  source: string;
  run(): Pair[];
}

export interface CheckResult {
  id: string;
  title: string;
  source: string;
  passed: boolean;
  detail: string;
}

export const checks: Check[] = [
  ...regressionChecks,
  ...lineChecks,
  ...fitChecks,
  ...sampleChecks,
  ...outlierChecks,
  ...tableChecks,
  ...chanceChecks,
  ...circuitChecks,
  ...signalChecks,
];

export const difference = (p: Pair): number =>
  p.expected === 0 ? Math.abs(p.value) : Math.abs(p.value - p.expected) / Math.abs(p.expected);

/** A figure that is no number fails. */
export const holds = (p: Pair): boolean => difference(p) <= p.within;

export function runSelfcheck(): CheckResult[] {
  return checks.map((check) => {
    const pairs = check.run();
    const failed = pairs.filter((p) => !holds(p));
    const worst = Math.max(...pairs.map(difference));
    return {
      id: check.id,
      title: check.title,
      source: check.source,
      passed: failed.length === 0 && pairs.length > 0,
      detail:
        failed.length === 0
          ? `${pairs.length} figures, worst off by ${worst.toExponential(1)}`
          : failed.map((p) => `${p.name} is ${p.value}, published ${p.expected}`).join("; "),
    };
  });
}
