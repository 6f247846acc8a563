/** Seeded chance: the same seed gives the same numbers on every machine. Generator: xoroshiro128+ of the pure-rand library. */
import { xoroshiro128plus } from "pure-rand/generator/xoroshiro128plus";

export interface Random {
  /** Uniform on [0, 1), 53 random bits. */
  uniform(): number;
  /** Standard normal, by the polar method (Marsaglia and Bray 1964). */
  normal(): number;
  /** Whole number from 0 to n − 1. */
  below(n: number): number;
}

/** @param seed any whole number; each seed is a stream of its own. */
export function createRandom(seed: number): Random {
  const source = xoroshiro128plus(scramble(seed));
  // Neighbouring seeds start in states that differ by few bits; the first draws are spent on mixing them.
  for (let i = 0; i < 32; i++) source.next();
  let spare: number | null = null;
  const uniform = () => {
    const high = source.next() >>> 5;
    const low = source.next() >>> 6;
    return (high * 67108864 + low) / 9007199254740992;
  };
  const normal = () => {
    if (spare !== null) {
      const kept = spare;
      spare = null;
      return kept;
    }
    for (;;) {
      const a = 2 * uniform() - 1;
      const b = 2 * uniform() - 1;
      const s = a * a + b * b;
      if (s > 0 && s < 1) {
        const scale = Math.sqrt((-2 * Math.log(s)) / s);
        spare = b * scale;
        return a * scale;
      }
    }
  };
  return { uniform, normal, below: (n) => Math.floor(uniform() * n) };
}

/** Spreads a small seed over 32 bits (the finaliser of MurmurHash3, public domain, A. Appleby). */
function scramble(seed: number): number {
  let h = seed | 0;
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return (h ^ (h >>> 16)) | 0;
}
