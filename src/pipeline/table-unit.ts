/** Table unit: the device's table is in litres by default; a job in gallons that does not state the device's unit is told so. */
import type { Issue } from "../answer";
import type { Job } from "./job";
import { mendedBy } from "./ways";

const gallons = { USgal: "US gallons", impgal: "imperial gallons" } as const;

/** The unit of the job and what it does not state; a trial cut of the table that nobody types has no use for them. */
export type StatedUnit = Partial<Pick<Job, "volumeUnit" | "assumed">>;

/**
 * What is typed stays in litres; whether the device takes litres nobody said.
 * @param stage whose leaf says it. @returns empty where the job is in another unit, or states the device's.
 */
export function litresNotStated(stage: "table" | "settings", { volumeUnit, assumed = [] }: StatedUnit): Issue[] {
  if (volumeUnit !== "USgal" && volumeUnit !== "impgal") return [];
  if (!assumed.some((a) => a.path === "device.tableVolumeUnit")) return [];
  return [
    {
      code: `${stage}/litres-not-stated`,
      says: `The rows of the table are in litres: this job is in ${gallons[volumeUnit]}, and it does not state which unit the device takes its table in.`,
      ...mendedBy(
        {
          page: "under “Volumes typed in”, with the device in the job leaf",
          command: `with --set device.tableVolumeUnit=${volumeUnit}`,
        },
        (way) => `Look it up in the device, and state it ${way}.`,
      ),
      weight: "note",
    },
  ];
}
