/**
 * Smallest fault that a step would show: the size from which on the stage tells it in 95 of 100 runs.
 *
 * A fault is told once its chance reaches `raiseFrom` (suspect-events.ts), so what must be overcome is everything else that explains the same
 * readings: a rougher tank, a noisier reading, one or two bends near the step, a fault of a neighbour, each with its prior. With information I
 * (one over the squared standard error of the size) left beside a rival, a fault of size δ costs the rival ½ (δ√I + z)², z standard normal;
 * at z = −1.645 it costs so much or more in 95 of 100 runs. The fault itself costs its prior and how finely it must be placed, ½ log(1 + s² I).
 * Gaussian algebra throughout, on a straight line about the curve as found; derived here, held to a closed loop (tests/promises).
 *
 * A pour that held less leaves its reading nearly standing, and so does a second room with one step on its wall (room-rival.ts): from about half a
 * pour on the room may explain as much. So the size told for less is the one from which on every size up to the whole pour is told, rooms weighed
 * too (near the whole pour that it was never poured is likelier than a room); where there is none, no size is printed.
 */

import { chainFilter, innerProduct, type WhitenedShift, whitenedShift } from "../math/chain-shift";
import { logSum } from "../math/smoothing";
import type { Room } from "./room";
import { type RoomRival, roomRivals } from "./room-rival";
import type { Member, PlacedChain, RunChain } from "./run-chain";
import type { Possible } from "./suspect-explanations";
import { type Class, Classes, type Gone, shortOf, smallestSize, toldFrom } from "./told-size";

export interface SmallestFault {
  /**
   * A pour that held more, and one that held less than written, in ranges of the volume; wrong reading, on the coordinate. Null where none,
   * however large, is told in 95 of 100 runs.
   */
  more: number | null;
  less: number | null;
  reading: number | null;
}

/**
 * What the algebra leaves out (noise and roughness are themselves read off the run, states beyond those near the step) asks for so much more:
 * tuning seeds 1–120. Most for a pour that held more: a missed pour elsewhere and a tank that bends there share its chance.
 */
const margins = { more: 1.4, less: 1.15, reading: 1.2 };
/**
 * Rooms with a step on their wall stand for those beside a bend too: weighed so many times, by sixteen even pours of which one held 0.3 to 0.9 pours less
 * (84 sheets a noise). Noise of 1.5 % of a pour's rise: 83 are told, and 0.43 to 0.69 pours printed; of 5 %: 53, of 0.9 pours all 12, and 0.83 to 0.94 printed.
 */
const roomsBeside = 1.4;
/** A slip of the pen is seldom larger than two pours (named default, no source), and no more can be missing from a pour than was written. */
const mostPours = 2;
/** Settings fainter (log) than this against the likeliest count for nothing even beside a large fault. */
const faintSetting = 9;

interface Column {
  member: Possible;
  /** First node that it moves, and by how much it moves the reading at a node from there on. */
  from: number;
  shift: (node: number) => number;
  /** Its prior odds, and its prior standard deviation in the units of its column. */
  prior: number;
  standard: number;
}

/** More points than these: every so-manieth is worked out, the others take the size of the nearest. Close neighbours see hardly anything else. */
export const mostWorkedOut = 120;

/**
 * In a run of more than 120 points every so-manieth is worked out, and the points between take the size of the nearest of those.
 * @param put, logs the members put in, and how likely each setting then is. @param room as for the search. @param raiseFrom chance from which a fault is told. @returns one for each point of the run.
 */
export function smallestFaults(
  run: RunChain,
  members: Member[],
  { put, logs }: { put: PlacedChain; logs: number[] },
  possible: Possible[],
  room: Room,
  raiseFrom: number,
): SmallestFault[] {
  const { chain, node } = put;
  const likeliest = Math.max(...logs);
  const settings = run.settings
    .filter((_, k) => logs[k]! > likeliest - faintSetting)
    .map((s) => {
      const { store, logLikelihood } = chainFilter(chain, s);
      return { store, log: s.logPrior + logLikelihood, whitened: new Map<Column, WhitenedShift>() };
    });
  const base = logSum(settings.map((s) => s.log));

  const columns = possible.flatMap((member): Column[] => {
    if (member.amountName !== "any" || member.what === "hidden") return [];
    if (member.what === "shelf" && member.past !== member.at) return [];
    if (members.some((m) => m.what === member.what && m.at === member.at && m.between === member.between)) return [];
    const at = node[member.at]!;
    const place = member.between ? (chain.x[at]! + chain.x[node[member.at + 1]!]!) / 2 : chain.x[at]!;
    const litres = member.what === "pour" || member.what === "shelf";
    const shift =
      member.what === "kink"
        ? (k: number) => Math.max(0, chain.x[k]! - place)
        : litres
          ? (k: number) => chain.slope[k]!
          : (k: number) => (k === at ? 1 : 0);
    const standard = litres ? member.standard / run.range_L : member.standard;
    return [{ member, from: at, shift, prior: Math.exp(member.logPrior), standard }];
  });
  const columnsAt = new Map<number, Column[]>();
  for (const c of columns) columnsAt.set(c.member.at, [...(columnsAt.get(c.member.at) ?? []), c]);
  const needed = Math.log(raiseFrom / (1 - raiseFrom));
  const rooms = possible.filter((p) => p.what === "shelf" && p.past === p.at + 1);

  /** Sizes as the readings alone ask for them, before what a pour can hold. */
  const workOut = (k: number): SmallestFault => {
    const near = [-2, -1, 0, 1, 2].flatMap((d) => (columnsAt.get(k + d) ?? []).filter((c) => isNear(c.member, k)));
    const members = near.map((c) => c.member);
    // Of two explanations neither of which is a fault of this step only bends are weighed together.
    const isAsked = members.map(({ what, at }) => at === k && (what === "pour" || what === "reading"));
    const isBend = members.map(({ what }) => what === "kink");
    const together = (i: number, j: number) => i === j || isAsked[i]! || isAsked[j]! || (isBend[i]! && isBend[j]!);
    const products = settings.map(({ store, whitened }) =>
      productsOf(
        near.map((c) => {
          const known = whitened.get(c) ?? whitenedShift(chain, store, c.from, c.shift);
          whitened.set(c, known);
          return known;
        }),
        together,
      ),
    );
    // What lies before is not asked for again.
    for (const { whitened } of settings) for (const c of columnsAt.get(k - 3) ?? []) whitened.delete(c);
    const of: SmallestFault = { more: null, less: null, reading: null };
    near.forEach((fault, f) => {
      if (!isAsked[f]) return;
      const { what } = fault.member;
      const told: Class[] = [];
      const rivals = new Classes();
      const shelves = new Classes();
      const walls: RoomRival[] = [];
      const gone: Gone[] = [];
      const wholePours =
        what === "pour" ? possible.filter((p) => p.what === "pour" && p.at === k && p.amountName === "double") : [];
      settings.forEach((setting, s) => {
        const information = products[s]![f * near.length + f]!;
        const log = setting.log - base;
        if (!(information > 1e-9)) return;
        told.push({
          log: log + fault.member.logPrior - 0.5 * Math.log1p(information * fault.standard ** 2),
          information: 1 / (fault.standard ** 2 + 1 / information),
        });
        for (const p of wholePours) {
          const standard = p.standard / run.range_L;
          gone.push({
            log: log + p.logPrior - 0.5 * Math.log1p(information * standard ** 2),
            information: 1 / (standard ** 2 + 1 / information),
            size: Math.abs(p.mean) / run.range_L,
          });
        }
        weighRivals(near, products[s]!, f, log, rivals, shelves);
        if (what === "pour")
          for (const r of roomRivals(run, rooms, members, products[s]!, f))
            walls.push({ ...r, log: log + Math.log(roomsBeside) + r.log });
      });
      const plain = rivals.all();
      const size = (kind: keyof SmallestFault, against: Class[], backing: (size: number) => number) => {
        const short = shortOf(told, against, (size) => needed - backing(size));
        const smallest = smallestSize(told, short, fault.standard);
        if (kind !== "less" || smallest === null) return times(margins[kind], smallest);
        const beside = shortOf(told, against, (size) => needed - backing(size), walls, gone);
        return times(margins.less, toldFrom(beside, smallest, run.points[k]!.step.added_L / run.range_L));
      };
      if (what === "reading") of.reading = size("reading", plain, () => 0);
      else {
        // A second room takes volume off as a pour that held less does, never more; the stated capacity leaves room for the one or the other.
        of.more = size("more", plain, (size) => room.odds(size * run.range_L));
        of.less = size("less", [...plain, ...shelves.all()], (size) => room.odds(-size * run.range_L));
      }
    });
    return of;
  };

  const every = Math.ceil(run.points.length / mostWorkedOut);
  const workedOut = new Map<number, SmallestFault>();
  const may = (k: number, what: "pour" | "reading") => columnsAt.get(k)?.some((c) => c.member.what === what) ?? false;
  for (let k = 0; k < run.points.length; k += every) {
    // A point whose fault is found already, or decided on, has no size to lend to its neighbours.
    let free = k;
    while (free + 1 < k + every && free + 1 < run.points.length && !(may(free, "pour") && may(free, "reading"))) free++;
    workedOut.set(k, workOut(free));
  }
  const last = every * (workedOut.size - 1);
  const upTo = (most_L: number, found: number | null) =>
    found !== null && found * run.range_L <= most_L ? found : null;
  return run.points.map((point, k) => {
    const { more, less, reading } = workedOut.get(Math.min(last, every * Math.round(k / every)))!;
    const written_L = point.step.added_L;
    return {
      more: may(k, "pour") ? upTo(mostPours * written_L, more) : null,
      less: may(k, "pour") ? upTo(written_L, less) : null,
      reading: may(k, "reading") ? reading : null,
    };
  });
}

/** Inner products of whitened shifts, row by row; those that are asked for together. */
function productsOf(whitened: WhitenedShift[], together: (i: number, j: number) => boolean): Float64Array {
  const n = whitened.length;
  const products = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = i; j < n; j++) {
      if (!together(i, j)) continue;
      products[i * n + j] = innerProduct(whitened[i]!, whitened[j]!);
      products[j * n + i] = products[i * n + j]!;
    }
  return products;
}

const times = (factor: number, size: number | null) => (size === null ? null : factor * size);

/** Nothing at all, one explanation near the step, or two bends: prior with the cost of placing them, and the information left about the fault. */
function weighRivals(
  columns: Column[],
  products: Float64Array,
  f: number,
  log: number,
  rivals: Classes,
  shelves: Classes,
): void {
  const n = columns.length;
  const row = f * n;
  const information = products[row + f]!;
  const weight = Math.exp(log);
  rivals.put(weight, information);
  const bends: { prior: number; cross: number; own: number; i: number; spread: number }[] = [];
  for (let i = 0; i < n; i++) {
    if (i === f) continue;
    const { member, standard, prior } = columns[i]!;
    const cross = products[row + i]! * standard;
    const own = 1 + products[i * n + i]! * standard * standard;
    const into = member.what === "shelf" ? shelves : rivals;
    into.put((weight * prior) / Math.sqrt(own), information - cross ** 2 / own);
    if (member.what !== "kink") continue;
    for (const o of bends) {
      const both = products[o.i * n + i]! * standard * o.spread;
      const determinant = own * o.own - both * both;
      const explained = (o.own * cross ** 2 - 2 * both * cross * o.cross + own * o.cross ** 2) / determinant;
      rivals.put((weight * prior * o.prior) / Math.sqrt(determinant), information - explained);
    }
    bends.push({ prior, cross, own, i, spread: standard });
  }
}

/** Two steps to either side. */
const isNear = (m: Possible, k: number) => Math.abs(m.at + (m.between ? 0.5 : 0) - k) <= (m.what === "kink" ? 2 : 1);
