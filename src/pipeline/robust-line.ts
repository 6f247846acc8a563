/** Robust line: the cross-check of the straight explanations, which no few wild steps can pull. */
import { theilSen } from "../math/theil-sen";
import type { CandidateFit } from "./curve-types";

export interface RobustLine {
  /** The candidate that it is held against: the line through the divider where the supply is known, else the straight line. */
  against: "line" | "divider";
  /** Litres for each unit of the reading (of 1/(supply − reading) with a divider), with its 95 % interval; null where too few steps bound it. */
  slope: number;
  slopeLower: number | null;
  slopeUpper: number | null;
  /** Largest distance from that candidate over the steps, litres, and the reading where it lies. */
  apart_L: number;
  reading: number;
}

/**
 * Theil–Sen line through the steps, on the coordinate on which its candidate is straight.
 * @param supply reading that stands for the supply, null where it is not known.
 * @returns null under three steps, or where the readings do not differ.
 * @see Theil 1950, Sen 1968 (from memory)
 */
export function robustLine(
  points: { reading: number[]; volume_L: number[] },
  candidates: CandidateFit[],
  supply: number | null,
): RobustLine | null {
  const kind = supply === null ? "line" : "divider";
  const candidate = candidates.find((c) => c.kind === kind);
  const { reading, volume_L } = points;
  if (!candidate || reading.length < 3 || new Set(reading).size < 2) return null;
  const x = reading.map((r) => (supply === null ? r : 1 / (supply - r)));
  const { slope, intercept, lower, upper } = theilSen(x, volume_L);
  let apart_L = 0;
  let apartAt = reading[0]!;
  reading.forEach((r, i) => {
    const fitted = volume_L[i]! - candidate.residuals_L[i]!;
    const off = Math.abs(intercept + slope * x[i]! - fitted);
    if (off > apart_L) [apart_L, apartAt] = [off, r];
  });
  return { against: kind, slope, slopeLower: lower, slopeUpper: upper, apart_L, reading: apartAt };
}
