/** The part of the plotter that the page uses. */
declare module "plotly.js-dist-min" {
  interface Plotter {
    newPlot(target: HTMLElement, traces: object[], layout: object, config: object): Promise<unknown>;
    relayout(target: HTMLElement, update: object): Promise<unknown>;
    purge(target: HTMLElement): void;
  }
  const plotter: Plotter;
  export default plotter;
}
