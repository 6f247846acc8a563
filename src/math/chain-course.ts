/**
 * The course of the filter along a chain, for the likelihoods of chains that are the same up to some node: as far as both are the same they are
 * not walked again, and the result is the same to the last bit.
 */
import { type Chain, chainLikelihoods, forwardPass, inRecord, type Noise } from "./smooth-chain";

export interface Course {
  chain: Chain;
  settings: Noise[];
  /** Nodes from one record to the next. */
  every: number;
  /** Of each setting, row by row. */
  records: Float64Array[];
}

/** Records of a course, at most about so many. */
const mostRecords = 64;

export function chainCourse(chain: Chain, settings: Noise[]): Course {
  const every = Math.ceil(chain.x.length / mostRecords);
  const records = settings.map((setting) => {
    const values = new Float64Array(Math.ceil(chain.x.length / every) * inRecord);
    forwardPass(chain, setting, null, { values, every, begin: null });
    return values;
  });
  return { chain, settings, every, records };
}

/** log likelihood of another chain at each setting of the course, as `chainLikelihoods` gives it. */
export function likelihoodsBeside(course: Course, chain: Chain): Float64Array {
  const { settings, every, records } = course;
  const begin = lastAlike(chain, course);
  // The first reading is where the level begins.
  if (begin === 0) return chainLikelihoods(chain, settings);
  return Float64Array.from(settings, (setting, k) =>
    forwardPass(chain, setting, null, { values: records[k]!, every, begin }),
  );
}

/** Last record up to which a chain is the one of the course: what the filter knows before a node depends on all nodes before it. */
function lastAlike(a: Chain, { chain: b, every }: Course): number {
  const last = Math.min(a.x.length, b.x.length) - 1;
  let i = 0;
  while (
    i < last &&
    a.x[i] === b.x[i] &&
    a.seen[i] === b.seen[i] &&
    a.y[i] === b.y[i] &&
    a.own[i] === b.own[i] &&
    a.readingVariance[i] === b.readingVariance[i] &&
    a.slope[i] === b.slope[i] &&
    a.pour[i] === b.pour[i] &&
    a.bend[i] === b.bend[i] &&
    a.pace[i] === b.pace[i]
  )
    i++;
  return Math.floor(i / every);
}
