/** Sums up the scores of many jobs: medians, shares with their intervals, and whether the tanks were hard enough to count. */
import { type Line, present, share, shareLine, spread } from "./lines";
import type { JobScore } from "./measure";
import { fillLines } from "./report-fill";
import { endLines, noiseLines, roadLines, warningLines } from "./report-road";
import { mean, quantile } from "./score";

export interface Hardness {
  twoPoint: number;
  raw: number;
  counts: boolean;
}

/** Whether the tanks are hard enough for any score to count. */
export function hardness(scores: JobScore[]): Hardness {
  const twoPoint = quantile(
    scores.map((s) => s.twoPointRms),
    0.5,
  );
  const raw = quantile(
    scores.map((s) => s.rawRms),
    0.5,
  );
  return { twoPoint, raw, counts: twoPoint >= 8 && raw >= 1.5 };
}

export function summarise(scores: JobScore[]): Line[] {
  return [
    ...fillLines(scores),
    ...roadLines(scores),
    ...endLines(scores),
    ...noiseLines(scores),
    ...warningLines(scores),
    ...verdictLines(scores),
    spread(
      "whole pipeline",
      scores.map((s) => s.took_ms / 1000),
      "s",
    ),
  ];
}

function verdictLines(scores: JobScore[]): Line[] {
  const verdicts = present(scores.map((s) => s.verdict));
  const said = (decision: string) => verdicts.filter((v) => v.decision === decision);
  return [
    shareLine("“conforms” was right", said("conforms").filter((v) => v.conforms).length, said("conforms").length),
    shareLine(
      "“does not conform” was right",
      said("does-not-conform").filter((v) => !v.conforms).length,
      said("does-not-conform").length,
    ),
    {
      promise: "verdict: mean probability stated, and share that conforms",
      jobs: verdicts.length,
      value: `${share(mean(verdicts.map((v) => v.probability)))}, ${share(mean(verdicts.map((v) => (v.conforms ? 1 : 0))))}`,
      figures: {
        stated: mean(verdicts.map((v) => v.probability)),
        is: mean(verdicts.map((v) => (v.conforms ? 1 : 0))),
        brier: mean(verdicts.map((v) => (v.probability - (v.conforms ? 1 : 0)) ** 2)),
      },
      beside: `${said("cannot-be-said").length} cannot be said`,
    },
  ];
}
