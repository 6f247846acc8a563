/** Supply in service: how far it strays on the road, as stated and as the drive logs show it; the larger of the two counts. */
import { type Answer, type Issue, ready } from "../answer";
import { fixed, withUnit } from "../format";
import type { Job } from "./job";
import type { Recording } from "./recording";
import { crankingShare, sameSupply } from "./supply-correction";

const root3 = Math.sqrt(3);

/** The sender's supply as the drive logs show it, cranking left out: shares of the stated supply. */
export interface SupplySeen {
  files: string[];
  /** Root mean square, and largest size, of its distance from the stated supply. */
  rms: number;
  most: number;
}

/** @returns null where no drive logs the sender's own supply, none is stated to hold it against, or the converter follows it. */
export function supplySeen(drives: Recording[], { circuit }: Pick<Job, "circuit">): Answer<SupplySeen | null> {
  const { ratiometric, kind, supplyVolts } = circuit;
  if (ratiometric || kind === "none" || supplyVolts === null) return ready(null);
  const files: string[] = [];
  let squares = 0;
  let most = 0;
  let n = 0;
  for (const { file, columns } of drives) {
    const column = columns.find((c) => c.role === "supply");
    if (!column) continue;
    const logged = column.values.filter((v, i) => column.valid[i] === 1 && v > 0).sort();
    const middle = logged[logged.length >> 1];
    if (middle === undefined || Math.abs(middle / supplyVolts - 1) > sameSupply) continue;
    files.push(file);
    for (const v of logged) {
      if (!(v > crankingShare * supplyVolts)) continue;
      const off = v / supplyVolts - 1;
      squares += off * off;
      most = Math.max(most, Math.abs(off));
      n++;
    }
  }
  return ready(n > 0 ? { files, rms: Math.sqrt(squares / n), most } : null);
}

/** The job as the service day needs it: with what the drives show of the supply. */
export const withSupplySeen = (job: Job, seen: SupplySeen | null): Job =>
  seen ? { ...job, circuit: { ...job.circuit, supplySeen: seen } } : job;

/**
 * Standard uncertainty of the supply on a service day, as a share of itself. A limit (stated, or the default) counts over √3, what was seen as its
 * root mean square, and the larger of the two counts: a drive shows one day, so it never narrows what is stated.
 * @returns null where the converter follows the supply or no circuit is known.
 */
export function supplyInService(
  job: Pick<Job, "circuit" | "assumed">,
): { standard: number; by: "stated" | "default" | "drive"; why: string } | null {
  const { ratiometric, kind, supplyLimit, supplySeen: seen } = job.circuit;
  if (ratiometric || kind === "none") return null;
  const assumed = job.assumed.find((a) => a.path === "circuit.supplyLimit");
  const limit = `at most ±\u00a0${fixed(100 * supplyLimit, 1)}\u00a0%${assumed ? ` (${assumed.why})` : ", as stated"}, over √3`;
  if (!seen) return { standard: supplyLimit / root3, by: assumed ? "default" : "stated", why: limit };
  const logged = `${seen.files.join(", ")}: ${withUnit(100 * seen.rms, "%", 2)} root mean square from the stated supply`;
  return seen.rms > supplyLimit / root3
    ? { standard: seen.rms, by: "drive", why: `${logged}; it is more than ${limit}, and counts` }
    : { standard: supplyLimit / root3, by: assumed ? "default" : "stated", why: `${limit}; ${logged} is less` };
}

/** Both figures in one line, and which of them counts. */
export function supplySeenCaution(job: Job): Issue[] {
  const { supplySeen: seen, supplyLimit, supplyVolts } = job.circuit;
  const used = supplyInService(job);
  if (!seen || !used) return [];
  const assumed = job.assumed.some((a) => a.path === "circuit.supplyLimit");
  const saw = `${seen.files.join(", ")}: on the road the supply is off the stated ${withUnit(supplyVolts!, "V")} by ${withUnit(100 * seen.rms, "%", 2)} (root mean square), at most by ${withUnit(100 * seen.most, "%", 2)}.`;
  const limit = `the ${assumed ? "assumed" : "stated"} ±\u00a0${fixed(100 * supplyLimit, 1)}\u00a0% (over √3: ${withUnit((100 * supplyLimit) / root3, "%", 2)})`;
  const state = `±\u00a0${fixed(Math.max(0.1, 100 * root3 * seen.rms), 1)}\u00a0%`;
  return [
    used.by === "drive"
      ? {
          code: "circuit/supply-seen",
          says: `${saw} That is more than ${limit}: what was logged counts on a later day.`,
          remedy: `State ${state} for the supply in the job, or feed pull-up and converter from one regulated supply.`,
          weight: "doubtful",
        }
      : {
          code: "circuit/supply-seen",
          says: `${saw} That is less than ${limit}, which goes on counting: a drive shows one day only.`,
          ...(assumed ? { remedy: `If every day is like that one, state ${state} for the supply in the job.` } : {}),
          weight: "note",
        },
  ];
}
