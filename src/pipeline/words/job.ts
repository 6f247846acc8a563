/** What the job leaf says. */
import type { Job } from "../job";
import type { Finding, Phrase, WorkingLine } from "./finding";
import { counted, quantity } from "./quantity";

const senders = {
  "float-arm": "a float arm",
  "reed-ladder": "a reed ladder",
  capacitive: "a capacitive tube",
  unknown: "a sender of a kind not stated",
} as const;

export function jobFinding(job: Job): Finding {
  const { capacity_L } = job.tank;
  const sentence: Phrase[] = [
    capacity_L === null ? "A tank of a size not stated, " : quantity("job.tank.capacity_L", capacity_L, "L"),
    capacity_L === null ? "" : " in all, ",
    senders[job.sender.kind],
    job.targets.tolerance_L === null
      ? "; how good the gauge must be is not stated: 2 % of the tank is taken."
      : "; the gauge must be right within ",
    ...(job.targets.tolerance_L === null
      ? []
      : [
          {
            ...quantity("job.targets.tolerance_L", job.targets.tolerance_L, "L", 2),
            text: `±\u00a0${quantity(null, job.targets.tolerance_L, "L", 2).text}`,
          },
          ".",
        ]),
  ];
  return {
    question: "What is fitted, and how good must it be?",
    sentence,
    short:
      job.targets.tolerance_L === null
        ? ["target assumed"]
        : [
            {
              ...quantity("job.targets.tolerance_L", job.targets.tolerance_L, "L", 2),
              text: `target ±\u00a0${quantity(null, job.targets.tolerance_L, "L", 2).text}`,
            },
          ],
    condition: [
      job.assumed.length === 0 ? "All stated by you." : "",
      ...(job.assumed.length
        ? [
            counted(null, job.assumed.length, 0),
            job.assumed.length === 1
              ? " thing was not stated; the named default stands in the working."
              : " things were not stated; named defaults stand in the working.",
          ]
        : []),
    ],
    caution: null,
  };
}

export const jobWorking = (job: Job): WorkingLine[] =>
  job.assumed.map((a, i) => ({
    what: `Not stated: ${a.path}`,
    formula: null,
    figures:
      typeof a.value === "number"
        ? ["taken as ", quantity(`assumed.${i}.value`, a.value, "")]
        : [`taken as ${a.value}`],
    source: a.why,
  }));
