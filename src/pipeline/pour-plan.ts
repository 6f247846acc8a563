/** Pour plan: before the first pour, how many pours of what size, and what must be written down? */

import { type Said, say } from "../said";
import type { Job } from "./job";
import { litresAsIs, litresTo } from "./litres";

export interface PourPlan {
  pours: number;
  size_L: number;
  /** Litres that the tank is taken to hold; from the job. */
  capacity_L: number;
  /** What the plan leaves open, litres (standard uncertainty over the tank): between the steps, and from the pours themselves. */
  between_L: number;
  pouring_L: number;
  tolerance_L: number;
  /** False when no sensible number of pours meets a quarter of the tolerance with what one pour is wrong by. */
  enough: boolean;
  why: Said[];
  writeDown: Said[];
  cautions: string[];
}

/**
 * Nine tanks in ten, with a float arm or a tube, stray from straight joins between n equal pours by no more than
 * 10 %/n of the capacity (root mean square, between the stops): read off this project's own simulated tanks (datasets/world); a test computes it again.
 */
export const strayShare = 0.1;
/** What pouring and reading may take of the tolerance together (named default, no source). */
const shareOfTolerance = 1 / 3;
/** Fewest pours that let a kink in the tank be told from a slip (9 steps, methods), and most that anybody pours by hand. */
const fewest = 8;
const most = 30;

/** Sizes that jugs and cans are marked in, litres (common practice, no source). */
const sizes_L = [0.5, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50];

/**
 * Plans the pours.
 *
 * More pours see more of the tank's shape (10 %/n) but each adds its own error, which grows as the root of their number; the
 * container's marks are wrong by the same share however many pours there are. The fewest pours are taken that leave no more than a
 * third of the tolerance open; a stated size of the container is kept.
 *
 * @returns null while the job states no capacity: without it nothing can be planned.
 */
export function planPours(job: Job): PourPlan | null {
  const capacity_L = job.tank.capacity_L;
  if (capacity_L === null) return null;
  const tolerance_L = job.targets.tolerance_L ?? 0.02 * capacity_L;
  const open = (size: number) => {
    const n = capacity_L / size;
    const onePour = job.pour.errorPerPour_L ?? 0.01 * size;
    // A running total is read anew each time: its error does not add up.
    const pouring = job.pour.runningTotal ? onePour : onePour * Math.sqrt(n);
    return { between: (strayShare / n) * capacity_L, pouring };
  };
  const fits = (size: number) => {
    const { between, pouring } = open(size);
    return Math.hypot(between, pouring) <= tolerance_L * shareOfTolerance;
  };
  const inReach = sizes_L.filter((s) => capacity_L / s >= fewest && capacity_L / s <= most);
  const largest = [...inReach].reverse().find(fits);
  const finest = inReach[0] ?? capacity_L / 12;
  // Where none is good enough, the size that leaves least open.
  const least = [...inReach].sort(
    (a, b) => Math.hypot(open(a).between, open(a).pouring) - Math.hypot(open(b).between, open(b).pouring),
  )[0];
  const size_L = job.pour.size_L ?? largest ?? least ?? finest;
  const { between, pouring } = open(size_L);
  const pours = Math.max(1, Math.floor(capacity_L / size_L + 1e-9));
  const why: Said[] = [
    say`Between ${pours} pours of ${litresAsIs(size_L)} a tank may bend unseen by about ${litresTo(between, 2)}, and the pours themselves add about ${litresTo(pouring, 2)} by the end.`,
    say`Together that is ${fits(size_L) ? "within" : "more than"} a third of the ± ${litresTo(tolerance_L, 1)} you want.`,
  ];
  if (job.pour.size_L !== null) why.push("The size of the pour is the one that you stated.");
  if (pours < fewest)
    why.push("Under 8 pours, a step in the tank’s floor cannot be told from a slip on the sheet: pour less at a time.");
  if (job.sender.kind === "reed-ladder")
    why.push(
      "A ladder of contacts moves in jumps: pour no more at a time than one jump is worth, or the curve knows each contact only to a whole pour.",
    );
  why.push("Pour smaller near empty if you can: that is where a wrong litre strands somebody.");
  return {
    pours,
    size_L,
    capacity_L,
    between_L: between,
    pouring_L: pouring,
    tolerance_L,
    enough: fits(size_L) && pours >= fewest,
    why,
    writeDown: writeDown(job),
    cautions: safety,
  };
}

function writeDown(job: Job): Said[] {
  const list: Said[] = [
    say`The reading before the first pour, at ${litresTo(0, 0)}: it is the first row.`,
    "Each pour in its own row, with the reading after the float has come to rest.",
    "Typed here, each row is weighed against those before it: look at what it says before the next pour, while a slip can still be checked at the tank.",
    "The container and its mark; use the same one for the whole run.",
    "Which fuel, and how warm it is.",
    "How the vehicle stands: level, as in service (8 mm in 1 m is half a degree).",
    "Any pour that was spilt, broken off or poured twice: write it, do not mend it.",
  ];
  if (job.sender.kind === "capacitive")
    list.push("The very blend of fuel: this kind of sender reads another fuel wrongly by tens of percent.");
  if (job.fill.deviceTimeConstant_s !== null)
    list.push(
      `Wait at least ${Math.ceil(5 * job.fill.deviceTimeConstant_s)} s before each reading: the device smooths it, and five time constants leave less than 1 % of a pour out.`,
    );
  if (job.pour.density_kg_per_L !== null) list.push("The density of the fuel at its temperature, as measured.");
  list.push("After the last pour, wait and read again: fuel in the neck creeps down.");
  return list;
}

/** Common practice, no source; local codes and licensed practice come first. */
const safety: string[] = [
  "Fuel vapour lies low, travels far and lights easily: work outdoors or well ventilated, no flame, no sparks, extinguisher at hand.",
  "Pouring builds up static charge: bond the container to the tank and to earth before you pour, and pour slowly.",
  "Make and break electrical connections away from the open tank, and with the supply off; a fault can put battery voltage on the sender’s wires.",
  "Do not run an electric pump dry: fuel cools and lubricates it.",
  "Leave room for expansion: do not fill into the neck.",
  "Follow your local code; where it asks for a licensed person, this is that person’s work.",
];
