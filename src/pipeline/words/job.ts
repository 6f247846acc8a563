/** What the job leaf says. */
import type { Job } from "../job";
import type { Finding, Phrase, Quantity, WorkingLine } from "./finding";
import { counted, within as plusMinusOf, quantity, setting, whole } from "./quantity";

const senders = {
  "float-arm": "a float arm",
  "reed-ladder": "a reed ladder",
  capacitive: "a capacitive tube",
  unknown: "a sender of a kind not stated",
} as const;

export function jobFinding(job: Job): Finding {
  const { capacity_L } = job.tank;
  const { tolerance_L } = job.targets;
  const within = (before: string): Quantity =>
    plusMinusOf(setting("job.targets.tolerance_L", tolerance_L!, "L"), before);
  const sentence: Phrase[] = [
    ...(capacity_L === null
      ? ["What the tank holds is not stated yet"]
      : [whole(setting("job.tank.capacity_L", capacity_L, "L")), " in all, ", senders[job.sender.kind]]),
    ...(tolerance_L === null
      ? [
          capacity_L === null
            ? ", nor how good the gauge must be: within 2 % of the tank is taken."
            : "; how good the gauge must be is not stated: within 2 % of the tank is taken.",
        ]
      : ["; the gauge must be right within ", within(""), "."]),
  ];
  return {
    question: "What is fitted, and how good must it be?",
    sentence,
    short: tolerance_L === null ? ["target assumed"] : [within("target ")],
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
