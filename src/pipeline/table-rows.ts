/** Table rows: the rows of a table along a course, in whole steps of the device, spaced freely or equally. */
import {
  bestPlaces,
  levelOrdinates,
  type Place,
  pieceError,
  pieceValue,
  searchLattice,
} from "../math/piecewise-minimax";

/** Steps of the device: readings (x) and volumes (y) in its own units, and whether its rows stand at equal distances. */
export interface RowSteps {
  stepX: number;
  stepY: number;
  equal: boolean;
}

const round = (v: number, step: number) => Number((Math.round(v / step) * step).toFixed(9));

/** The place in whole steps that is nearest. */
export const inSteps = (p: Place, { stepX, stepY }: RowSteps): Place => ({
  x: round(p.x, stepX),
  y: round(p.y, stepY),
});

/** How many rows the steps between two ends leave room for, at least 2. */
export function roomForRows(lowEnd: Place, highEnd: Place, { stepX, stepY, equal }: RowSteps): number {
  // Where no row may be left out between the others, the volumes must have a step for each.
  const volumeSteps = equal ? Math.round(Math.abs(highEnd.y - lowEnd.y) / stepY) + 1 : Number.POSITIVE_INFINITY;
  return Math.max(2, Math.min(Math.floor((highEnd.x - lowEnd.x) / stepX), volumeSteps));
}

export interface RowsByNumber {
  /** For each number of rows from 2 on: the places that stay nearest to the course, not yet in whole steps, and their largest distance from it. */
  levelled: { points: number; error: number }[];
  /** That many rows in whole steps, as near to the course as the steps let them be. */
  rowsFor: (points: number) => Place[];
}

/** @param course the course in the device's units, x rising, its first and last place already in whole steps. @param most rows at most. */
export function rowsAlong(course: Place[], most: number, steps: RowSteps): RowsByNumber {
  const [lowEnd, highEnd] = [course[0]!, course[course.length - 1]!];
  const onCurve = bestPlaces(course, most);
  const startFor = (points: number): Place[] =>
    steps.equal
      ? Array.from({ length: points }, (_, i) =>
          round(lowEnd.x + ((highEnd.x - lowEnd.x) * i) / (points - 1), steps.stepX),
        ).map((x) => ({ x, y: pieceValue(course, x) }))
      : onCurve[Math.min(points, onCurve.length + 1) - 2]!.indices.map((i) => course[i]!);
  const levelled = Array.from({ length: steps.equal ? most - 1 : onCurve.length }, (_, i) => {
    const places = levelOrdinates(startFor(i + 2), course);
    return { points: i + 2, places, error: pieceError(places, course).worst };
  });
  const fromStart = (start: Place[]) => {
    const ordered = inOrder(
      start.map((p) => inSteps(p, steps)),
      steps,
    );
    return searchLattice(ordered, course, steps.stepX, steps.stepY, !steps.equal).map((p) => inSteps(p, steps));
  };
  const rowsFor = (points: number): Place[] => {
    const lifted = fromStart(levelled[Math.min(points - 2, levelled.length - 1)]!.places);
    const plain = fromStart(startFor(points));
    return pieceError(plain, course).worst < pieceError(lifted, course).worst ? plain : lifted;
  };
  return { levelled, rowsFor };
}

/** That many rows on a course, each on it as near as the steps allow, and not moved off it to be nearer elsewhere. */
export function rowsOn(course: Place[], count: number, most: number, steps: RowSteps): Place[] {
  if (!steps.equal) {
    const places = bestPlaces(course, most);
    const { indices } = places[count - 2] ?? places[places.length - 1]!;
    return inOrder(
      indices.map((i) => inSteps(course[i]!, steps)),
      steps,
    );
  }
  const [first, last] = [inSteps(course[0]!, steps), inSteps(course[course.length - 1]!, steps)];
  const points = Math.max(2, Math.min(count, Math.round(Math.abs(last.y - first.y) / steps.stepY) + 1));
  const inner = Array.from({ length: points - 2 }, (_, i) => {
    const { x } = inSteps({ x: first.x + ((last.x - first.x) * (i + 1)) / (points - 1), y: 0 }, steps);
    return inSteps({ x, y: pieceValue(course, x) }, steps);
  });
  return inOrder([first, ...inner, last], steps).map((p) => inSteps(p, steps));
}

const inOrder = (rows: Place[], steps: RowSteps) =>
  steps.equal ? everyRow(rows, steps.stepY) : strictly(rows, steps.stepX, steps.stepY);

/** Rows in strict order with none left out, as equal spacing asks: what is out of order moves by whole steps, and leaves room for those after it. */
function everyRow(rows: Place[], stepY: number): Place[] {
  const [first, last] = [rows[0]!, rows[rows.length - 1]!];
  const up = last.y >= first.y ? stepY : -stepY;
  let before = first.y;
  return rows.map((row, i) => {
    if (i === 0 || row === last) return row;
    const [near, far] = [before + up, last.y - up * (rows.length - 1 - i)];
    before = Math.min(Math.max(near, far), Math.max(Math.min(near, far), row.y));
    return { x: row.x, y: before };
  });
}

/** Pushes rows apart until readings rise and volumes are strictly ordered on their lattice; rows without room are left out. */
function strictly(rows: Place[], stepX: number, stepY: number): Place[] {
  const sense = rows[rows.length - 1]!.y >= rows[0]!.y ? 1 : -1;
  const last = rows[rows.length - 1]!;
  const kept: Place[] = [];
  for (const row of rows) {
    const before = kept[kept.length - 1];
    if (!before) kept.push(row);
    else if (
      row === last ||
      (row.x > before.x + stepX / 2 &&
        row.x < last.x - stepX / 2 &&
        sense * (row.y - before.y) > stepY / 2 &&
        sense * (last.y - row.y) > stepY / 2)
    )
      kept.push(row);
  }
  return kept;
}
