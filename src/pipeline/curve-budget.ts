/** What the curve's bands are made of, at mid range. */
import type { Curve } from "./curve-types";
import type { FillRuns } from "./fill-run";
import type { FillJob } from "./job";
import type { servicePart } from "./service-day";

export function budgetOf(
  covariance: number[][],
  volumes: number[],
  fillRuns: FillRuns,
  job: FillJob,
  service: ReturnType<typeof servicePart>,
  doubts: boolean,
): Curve["budget"] {
  const middle = volumes.length >> 1;
  return [
    {
      part: doubts
        ? "pours, readings, what hides between the steps, and faults that are possible but were not raised"
        : "pours, readings and what hides between the steps",
      standard_L: Math.sqrt(covariance[middle]![middle]!),
      day: "fill",
      assumed: false,
    },
    {
      part: "marks of the container",
      standard_L: fillRuns.scaleStandard * volumes[middle]!,
      day: "fill",
      assumed: job.assumed.some((a) => a.path === "pour.scaleErrorLimit"),
    },
    { part: "what was in the tank at the start", standard_L: fillRuns.startStandard_L, day: "fill", assumed: false },
    ...service.parts.map((p) => ({
      part: p.part,
      standard_L: p.standard[middle]!,
      day: "service" as const,
      assumed: p.assumed,
      ...(p.why === undefined ? {} : { why: p.why }),
    })),
  ];
}
