/** Tank: how high does the fuel stand for the volume that is in it? Shapes are invented; heights run from 0 (floor) to 1 (roof). */

export type TankShape = "stepped" | "saddle" | "wedge" | "cylinder" | "lobes" | "keel";

/** Plain numbers that describe a tank; `a` and `b` shape it as each case of `areaAt` says. */
export interface TankTruth {
  shape: TankShape;
  /** Brim full, litres: the true one (the stated one is rounded). */
  capacity_L: number;
  length_mm: number;
  width_mm: number;
  depth_mm: number;
  a: number;
  b: number;
}

export interface Tank extends TankTruth {
  /** Height of the surface over the floor as a fraction of the depth, for litres in the tank. */
  heightAt(contents_L: number): number;
  /** Litres in the tank for a height as a fraction of the depth. */
  contentsAt(height: number): number;
}

const cells = 600;

/** Area of the surface at a height, relative. */
function areaAt(tank: TankTruth, h: number): number {
  const step = (at: number, width: number) => 1 / (1 + Math.exp(-(h - at) / width));
  switch (tank.shape) {
    // Box whose floor rises by a step: below height b only the share a of the floor is there.
    case "stepped":
      return tank.a + (1 - tank.a) * step(tank.b, 0.012);
    // Two legs over a tunnel that narrows them up to height b; over it one wide room.
    case "saddle":
      return tank.a + (1 - tank.a) * Math.min(1, Math.max(0, h / tank.b)) ** 2;
    // Slanting front wall, and a roof that is cut off above height b.
    case "wedge":
      return (tank.a + (1 - tank.a) * h) * (1 - 0.5 * step(tank.b, 0.03));
    case "cylinder":
      return 2 * Math.sqrt(Math.max(1e-6, h * (1 - h)));
    // Main lobe with the sender; the second one (share a) fills over a wall of height b.
    case "lobes":
      return h < tank.b ? 1 - tank.a : 1;
    // Keel: a narrow bottom that opens out.
    case "keel":
      return h < tank.b ? tank.a + (1 - tank.a) * (h / tank.b) ** 1.4 : 1;
  }
}

export function createTank(truth: TankTruth): Tank {
  const height = new Float64Array(cells + 1);
  const filled = new Float64Array(cells + 1);
  for (let i = 1; i <= cells; i++) {
    height[i] = i / cells;
    let area = areaAt(truth, (i - 0.5) / cells);
    // While the second lobe fills over the wall the surface hardly rises: its volume lies within 1.5 % of the depth.
    const h = (i - 0.5) / cells;
    if (truth.shape === "lobes" && h >= truth.b && h < truth.b + 0.015) area += (truth.a * truth.b) / 0.015;
    filled[i] = filled[i - 1]! + area;
  }
  const total = filled[cells]!;
  for (let i = 0; i <= cells; i++) filled[i] = (filled[i]! / total) * truth.capacity_L;
  return {
    ...truth,
    heightAt: (contents_L) => between(filled, height, contents_L),
    contentsAt: (h) => between(height, filled, h),
  };
}

/** Straight lines between rising points; end values are held. */
function between(x: Float64Array, y: Float64Array, at: number): number {
  const last = x.length - 1;
  if (!(at > x[0]!)) return y[0]!;
  if (!(at < x[last]!)) return y[last]!;
  let low = 0;
  let high = last;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (x[middle]! <= at) low = middle;
    else high = middle;
  }
  return y[low]! + ((at - x[low]!) / (x[high]! - x[low]!)) * (y[high]! - y[low]!);
}
