/**
 * Closed loops of promises that the simulated jobs of `npm run promises` don't hold: `npx tsx tests/promises/run-loop.ts drain 1 110`.
 * Seeds from 10001 on are for scoring.
 */
import { complaintLines } from "./complaint-loop";
import { columns, type Line } from "./lines";
import { drainLines } from "./measure-drain";
import { lightLines } from "./measure-light";
import { orderLines } from "./measure-order";
import { pairLines } from "./measure-pair";
import { supplyLines } from "./measure-supply";
import { warningLines } from "./measure-warning";

const loops: Record<string, (from: number, to: number) => Line[]> = {
  complaint: complaintLines,
  drain: drainLines,
  light: lightLines,
  order: orderLines,
  pair: pairLines,
  supply: supplyLines,
  warning: warningLines,
};

const [name = "", first, last] = process.argv.slice(2);
const loop = loops[name];
const [from, to] = [Number(first), Number(last)];
if (!loop || !(from <= to))
  throw new Error(`run-loop: give one of ${Object.keys(loops).join(", ")}, and the first and the last seed`);
console.log(columns(loop(from, to).map((l) => [l.promise, `${l.jobs}`, l.value, l.beside])));
