/** Cholesky factor and forward substitution on plain row arrays: the library's decomposition hides the half that whitening needs. */

/** Lower factor L of a symmetric positive definite matrix, A = L Lᵀ; null if A is not positive definite. Of A only the lower half is read. */
export function cholesky(a: ArrayLike<number>[]): Float64Array[] | null {
  const n = a.length;
  const l = a.map((given, i) => {
    const row = new Float64Array(n);
    for (let j = 0; j <= i; j++) row[j] = given[j]!;
    return row;
  });
  // Column after column is taken out of all that is right of it: products that do not wait for each other.
  const column = new Float64Array(n);
  for (let k = 0; k < n; k++) {
    const square = l[k]![k]!;
    if (!(square > 0)) return null;
    const pivot = Math.sqrt(square);
    l[k]![k] = pivot;
    for (let i = k + 1; i < n; i++) {
      const row = l[i]!;
      const c = row[k]! / pivot;
      row[k] = c;
      column[i] = c;
      for (let j = k + 1; j <= i; j++) row[j]! -= c * column[j]!;
    }
  }
  return l;
}

/** Solves L z = b. */
export function forward(l: Float64Array[], b: ArrayLike<number>): Float64Array {
  const n = l.length;
  const z = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const row = l[i]!;
    let s = b[i]!;
    for (let k = 0; k < i; k++) s -= row[k]! * z[k]!;
    z[i] = s / row[i]!;
  }
  return z;
}

/** Solves Lᵀ x = z. */
export function backward(l: Float64Array[], z: ArrayLike<number>): Float64Array {
  const n = l.length;
  const x = new Float64Array(n);
  for (let i = n - 1; i >= 0; i--) {
    let s = z[i]!;
    for (let k = i + 1; k < n; k++) s -= l[k]![i]! * x[k]!;
    x[i] = s / l[i]![i]!;
  }
  return x;
}

/** log |A| from the factor. */
export const logDeterminant = (l: Float64Array[]): number => 2 * l.reduce((s, row, i) => s + Math.log(row[i]!), 0);

export function dot(a: ArrayLike<number>, b: ArrayLike<number>): number {
  let s = 0;
  for (let i = 0; i < a.length; i++) s += a[i]! * b[i]!;
  return s;
}

/** Orthonormal columns that span the given ones (modified Gram–Schmidt, twice), and log |XᵀX|. Dependent columns are left out. */
export function orthonormal(columns: Float64Array[]): { q: Float64Array[]; logGram: number } {
  const q: Float64Array[] = [];
  let logGram = 0;
  for (const column of columns) {
    const v = Float64Array.from(column);
    const size = Math.sqrt(dot(v, v));
    for (let pass = 0; pass < 2; pass++)
      for (const u of q) {
        const along = dot(u, v);
        for (let i = 0; i < v.length; i++) v[i]! -= along * u[i]!;
      }
    const rest = Math.sqrt(dot(v, v));
    if (!(rest > 1e-10 * size)) continue;
    for (let i = 0; i < v.length; i++) v[i]! /= rest;
    q.push(v);
    logGram += 2 * Math.log(rest);
  }
  return { q, logGram };
}

/** Takes off the part of v that lies in the span of q, in place. */
export function project(q: Float64Array[], v: Float64Array): Float64Array {
  for (const u of q) {
    const along = dot(u, v);
    for (let i = 0; i < v.length; i++) v[i]! -= along * u[i]!;
  }
  return v;
}
