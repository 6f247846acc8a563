/**
 * Told size: from which size on a fault's odds against its rivals reach what is needed, in 95 of 100 runs.
 *
 * With information I left beside a rival, a fault of size δ costs the rival ½ (δ√I + z)², z standard normal; at z = −1.645 it costs so much or
 * more in 95 of 100 runs. The fault itself costs how far its size lies from what its prior expects. See smallest-fault.ts for what is weighed.
 */
import { logSum } from "../math/smoothing";
import type { RoomRival } from "./room-rival";

/** 95 of 100 runs, one side. */
const unlucky = 1.645;
/** Rivals of about the same information are taken together: width of a class of its logarithm. */
const classWidth = 0.15;

/** An explanation: log of its weight, and the information about the fault that is left beside it. */
export interface Class {
  log: number;
  information: number;
}

/** The whole pour that is on the sheet and was never poured: near it a pour that held less is told by that, and the room gives way. */
export interface Gone extends Class {
  size: number;
}

/** Rivals of about the same information, their weights summed. */
export class Classes {
  private readonly weights = new Map<number, number>();
  put(weight: number, information: number): void {
    const name = Math.round(Math.log(Math.max(1e-9, information)) / classWidth);
    this.weights.set(name, (this.weights.get(name) ?? 0) + weight);
  }
  all(): Class[] {
    return [...this.weights].map(([name, weight]) => ({
      log: Math.log(weight),
      information: Math.exp(name * classWidth),
    }));
  }
}

/** Whether the log odds of a size fall short of what is needed, in the unlucky run. */
export function shortOf(
  told: Class[],
  rivals: Class[],
  needed: (size: number) => number,
  rooms: RoomRival[] = [],
  gone: Gone[] = [],
): (size: number) => boolean {
  const costs = (apart: number, noise: number) => 0.5 * Math.max(0, apart - noise * unlucky) ** 2;
  const mine = new Float64Array(told.length + gone.length);
  const others = new Float64Array(rivals.length + rooms.length);
  const roots = rivals.map((r) => Math.sqrt(r.information));
  const rival = (i: number, size: number): number => {
    if (i < rivals.length) return rivals[i]!.log - costs(size * roots[i]!, 1);
    const room = rooms[i - rivals.length]!;
    const { apart, noise } = room.seen(size);
    return room.log - costs(apart, noise);
  };
  // What speaks for a fault weighs no more than at no distance from it: mostly one rival alone settles it, and the same as for the size before.
  const mostMine = logSum([...told, ...gone].map((t) => t.log));
  let settling = 0;
  return (size) => {
    const wanted = needed(size);
    const settles = (value: number) => wanted - mostMine + value > 1e-9;
    if (others.length > 0 && settles(rival(settling, size))) return true;
    for (let i = 0; i < others.length; i++) {
      others[i] = rival(i, size);
      if (!settles(others[i]!)) continue;
      settling = i;
      return true;
    }
    told.forEach((t, i) => {
      mine[i] = t.log - 0.5 * size ** 2 * t.information;
    });
    gone.forEach((t, i) => {
      mine[told.length + i] = t.log - 0.5 * (size - t.size) ** 2 * t.information;
    });
    return wanted - (logSum(mine) - logSum(others)) > 0;
  };
}

/** Smallest size from `smallest` on from which every one up to `most` is told; null where the largest is not. */
export function toldFrom(short: (size: number) => boolean, smallest: number, most: number): number | null {
  const finest = 1.01;
  let from: number | null = null;
  for (let size = Math.max(smallest, most); ; size /= finest) {
    if (short(size)) return from;
    from = size;
    if (size <= smallest * (1 + 1e-9)) return smallest;
    if (size / finest < smallest) size = smallest * finest;
  }
}

/** Smallest size whose log odds reach what is needed. */
export function smallestSize(told: Class[], short: (size: number) => boolean, standard: number): number | null {
  if (told.length === 0) return null;
  // Odds rise with the size until the prior of so large a fault weighs more.
  let high = 1e-4 * standard;
  while (short(high)) {
    high *= 1.1;
    if (high > 6 * standard) return null;
  }
  let low = high / 1.1;
  for (let i = 0; i < 12; i++) {
    const middle = (low + high) / 2;
    if (short(middle)) low = middle;
    else high = middle;
  }
  return high;
}
