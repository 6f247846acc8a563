/** Closed loop of the printed smallest fault: `npx tsx tests/promises/run-smallest.ts 1 90 [repeats] [steps of each job]`; seeds from 10001 on are for scoring. */
import { measureSmallest, scales } from "./measure-smallest";

const [from, to, repeats = 1, most = 3] = process.argv.slice(2).map(Number);
if (!(from! <= to!)) throw new Error("run-smallest: give the first and the last seed");
const scores = [];
for (let seed = from!; seed <= to!; seed++) {
  const score = measureSmallest(seed, repeats, most);
  if (score) scores.push(score);
}
const share = (hits: number, n: number) => (n > 0 ? `${((100 * hits) / n).toFixed(0)} % of ${n}` : "no case");
console.log(`${scores.length} clean jobs, seeds ${from} to ${to}; told at its step, by size over the printed one`);
for (const sort of ["more", "less", "reading"] as const) {
  const cases = scores.flatMap((s) => s.cases).filter((c) => c.sort === sort);
  const total = (of: (c: (typeof cases)[number]) => number) => cases.reduce((s, c) => s + of(c), 0);
  const line = scales.map(
    (scale, i) =>
      `${scale}: ${share(
        total((c) => c.found[i]!),
        total((c) => c.tried[i]!),
      )}`,
  );
  console.log(
    `${sort === "reading" ? "wrong reading" : `pour that held ${sort}`}, ${cases.length} steps: ${line.join(";  ")}`,
  );
}
