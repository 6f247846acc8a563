/** Distribution functions and quantiles: one door to the library, with the field's names. */
import chiSquaredCdf from "@stdlib/stats-base-dists-chisquare-cdf";
import chiSquaredQuantileOf from "@stdlib/stats-base-dists-chisquare-quantile";
import fCdf from "@stdlib/stats-base-dists-f-cdf";
import fQuantileOf from "@stdlib/stats-base-dists-f-quantile";
import normalCdf from "@stdlib/stats-base-dists-normal-cdf";
import normalQuantileOf from "@stdlib/stats-base-dists-normal-quantile";
import tCdf from "@stdlib/stats-base-dists-t-cdf";
import tQuantileOf from "@stdlib/stats-base-dists-t-quantile";

/** P(Z ≤ z) of the standard normal. */
export const normalProbability = (z: number): number => normalCdf(z, 0, 1);
/** z with P(Z ≤ z) = p. */
export const normalQuantile = (p: number): number => normalQuantileOf(p, 0, 1);
/** P(T ≤ t) of Student's t with `freedom` degrees of freedom. */
export const tProbability = (t: number, freedom: number): number => tCdf(t, freedom);
/** t with P(T ≤ t) = p. */
export const tQuantile = (p: number, freedom: number): number => tQuantileOf(p, freedom);
export const chiSquaredProbability = (x: number, freedom: number): number => chiSquaredCdf(x, freedom);
export const chiSquaredQuantile = (p: number, freedom: number): number => chiSquaredQuantileOf(p, freedom);
export const fProbability = (f: number, above: number, below: number): number => fCdf(f, above, below);
export const fQuantile = (p: number, above: number, below: number): number => fQuantileOf(p, above, below);
