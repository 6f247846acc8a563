/** As much of the plotter's interface as is used here. */
declare module "plotly.js-dist-min" {
  const plotly: {
    react(target: HTMLElement, traces: object[], layout: object, config: object): Promise<unknown>;
    relayout(target: HTMLElement, changes: object): Promise<unknown>;
  };
  export default plotly;
}
