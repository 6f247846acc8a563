/** Logged fuel flow: litres an hour of what the column holds, and whether the level agrees with it. */
import type { Issue } from "../answer";
import { LITRES_PER_IMPGAL, LITRES_PER_USGAL } from "../units";
import type { Job } from "./job";
import type { Recording } from "./recording";
import { heldValues } from "./slow-channels";

/** What is read of the job: which gallon it speaks of, and the fuel's density. */
export interface FlowJob {
  gallon: "USgal" | "impgal" | null;
  density_kg_per_L: number | null;
}

export const flowJobOf = ({ volumeUnit, pour }: Pick<Job, "volumeUnit" | "pour">): FlowJob => ({
  gallon: volumeUnit === "USgal" || volumeUnit === "impgal" ? volumeUnit : null,
  density_kg_per_L: pour.density_kg_per_L,
});

/**
 * Flow on the kept rows, litres an hour; a blank holds the value before it.
 * @returns null where none was logged, or where it is a mass and no density is stated: then that is said.
 */
export function flowOf(
  recording: Recording,
  keep: Int32Array,
  { gallon, density_kg_per_L }: FlowJob,
  cautions: Issue[],
): Float64Array | null {
  const column = recording.columns.find((c) => c.role === "flow");
  if (!column) return null;
  const where = { file: recording.file, column: column.header };
  let factor = 1;
  if (column.unit === "gal/h") {
    factor = gallon === "impgal" ? LITRES_PER_IMPGAL : LITRES_PER_USGAL;
    if (gallon === null)
      cautions.push({
        code: "drive-log/flow-which-gallon",
        says: `${recording.file} gives its flow in gallons and nothing says which; they are taken as US gallons.`,
        remedy: "State the volume unit in the job, or write US gal/h or imp gal/h into the head of the column.",
        where,
        weight: "holds-if",
        condition: "the gallons of the flow are US gallons",
      });
  } else if (column.unit === "kg/h") {
    if (density_kg_per_L === null || !(density_kg_per_L > 0)) {
      cautions.push({
        code: "drive-log/flow-needs-density",
        says: `${recording.file} gives its flow as a mass, and the job states no density: the flow is not used, and the burn is that of the level.`,
        remedy: "State the fuel’s density in the job.",
        where,
        weight: "note",
      });
      return null;
    }
    factor = 1 / density_kg_per_L;
  } else if (column.unit === null)
    cautions.push({
      code: "drive-log/flow-unit",
      says: `${recording.file} does not say the unit of its flow (“${column.header}”); it is taken as litres an hour.`,
      remedy: "Write the unit into the head of the column.",
      where,
      weight: "note",
    });
  const flow = heldValues(column, keep);
  if (factor !== 1) for (let i = 0; i < flow.length; i++) flow[i]! *= factor;
  return flow;
}

/** A flow is doubted where its burn differs from the level's by more than this share of the larger one, and by so many standard uncertainties. Named defaults, no source. */
const mostApart = 0.25;
const mostDeviations = 4;

/**
 * Whether the level that was read falls otherwise than the logged flow says, and the flow explains it worse: then one of them is in another unit or
 * of another tank.
 * @param flow_L @param level_L litres burnt by either; @param standard_L of the level’s. Strays: block means about the burn.
 */
export function flowDisagrees(
  flow: { burnt_L: number; stray_L: number },
  level: { burnt_L: number; stray_L: number },
  standard_L: number,
): boolean {
  const apart = Math.abs(flow.burnt_L - level.burnt_L);
  return (
    apart > mostApart * Math.max(flow.burnt_L, level.burnt_L) &&
    apart > mostDeviations * standard_L &&
    flow.stray_L > 1.5 * level.stray_L
  );
}
