/** The part of ml-regression that stands as a witness. */
declare module "ml-regression" {
  export class SimpleLinearRegression {
    constructor(x: number[], y: number[]);
    slope: number;
    intercept: number;
  }
  export class PolynomialRegression {
    constructor(x: number[], y: number[], degree: number);
    coefficients: number[];
  }
}
