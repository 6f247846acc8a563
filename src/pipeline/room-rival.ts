/**
 * A second room with one step on its wall, as what else explains a pour that held less than written.
 *
 * Such a room takes half of the gap before the step on its wall and half of the gap after it, each within 0.3 of that gap (`placed` in run-chain.ts). A
 * fault of size δ takes δ off one gap. What lies between both is seen against the information P that the readings hold of the two gaps and what the
 * room leaves open of them, S: with r the difference and W = P (I + S P)⁻¹ it is √(rᵀWr) standard deviations, and noise moves that by
 * √(rᵀW P⁻¹ Wr / rᵀWr), since where the room leaves more open than the readings do, noise has little to say. Unlike a bend or a room between two steps it is
 * likest at half a pour, not at nothing, so that it costs most where the reading nearly stands.
 */
import { onWall, type RunChain } from "./run-chain";
import type { Possible } from "./suspect-explanations";

export interface RoomRival {
  /** Log of its prior with the cost of placing it. */
  log: number;
  /** Standard deviations that lie between it and a fault of this size, in ranges of the volume; and by how many noise moves them, 0 to 1. */
  seen(size: number): { apart: number; noise: number };
}

/**
 * @param rooms those with one step on their wall. @param members whose shifts `products` are the inner products of, row by row.
 * @param f the pour that may have held less, among `members`. @returns none where no room takes a part of that pour.
 */
export function roomRivals(
  run: RunChain,
  rooms: Possible[],
  members: Possible[],
  products: Float64Array,
  f: number,
): RoomRival[] {
  const pour = members[f]!.at;
  const n = members.length;
  return rooms.flatMap((room): RoomRival[] => {
    if (room.at !== pour && room.past !== pour) return [];
    const gaps = [room.at, room.past!].map((k) => ({
      column: members.findIndex((m) => m.what === "pour" && m.at === k),
      gap: Math.abs(run.x[k]! - run.x[k - 1]!),
      isFault: k === pour,
    }));
    const [a, b] = gaps;
    if (!a || !b || a.column < 0 || b.column < 0) return [];
    const [p, q, c] = [
      products[a.column * n + a.column]!,
      products[b.column * n + b.column]!,
      products[a.column * n + b.column]!,
    ];
    const [s, t] = [(onWall.spread * a.gap) ** 2, (onWall.spread * b.gap) ** 2];
    // I + S P, and P (I + S P)⁻¹ = (P⁻¹ + S)⁻¹, symmetric.
    const determinant = (1 + s * p) * (1 + t * q) - s * t * c * c;
    const inner = p * q - c * c;
    const [left, right, cross] = [(p + t * inner) / determinant, (q + s * inner) / determinant, c / determinant];
    return [
      {
        log: room.logPrior - 0.5 * Math.log(determinant),
        seen(size) {
          const [u, v] = [a, b].map((g) => (g.isFault ? size : 0) - onWall.share * g.gap) as [number, number];
          const [x, y] = [left * u + cross * v, cross * u + right * v];
          const square = Math.max(0, u * x + v * y);
          const moved = inner > 0 ? (q * x * x - 2 * c * x * y + p * y * y) / inner : square;
          return { apart: Math.sqrt(square), noise: square > 0 ? Math.sqrt(Math.min(1, moved / square)) : 1 };
        },
      },
    ];
  });
}
