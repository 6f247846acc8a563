/** The figures of every leaf by the leaf's name: for the report. */

import type { Answer } from "../../answer";
import type { Figure } from "../../figure/figure";
import type { Answers } from "../index";
import { readingUnitIn } from "../reading-unit";
import { isFound } from "../words/all";
import { volumeWordsOf } from "../words/volume";
import { circuitFigures } from "./circuit";
import { curveFigure } from "./curve";
import { displayFigure } from "./display";
import { driveLogFigure } from "./drive-log";
import { endsFigure } from "./ends";
import { fillRunFigure } from "./fill-run";
import { figureInUnit } from "./in-unit";
import { lowFuelFigure } from "./low-fuel";
import { noiseByLevelFigure, noiseFigure } from "./noise";
import { rangeLeftFigure } from "./range-left";
import { suspectStepsFigure } from "./suspect-steps";
import { tableFigure } from "./table";
import { trialFigure } from "./trial";
import { verdictFigure } from "./verdict";

const value = <T>(a: Answer<T>): T | null => (a.state === "ready" ? a.value : null);

/** Leaves that have no figure, or whose answer is not there, have no entry. */
export function figuresOf(answers: Answers): Record<string, Figure[]> {
  const job = value(answers.job);
  const fill = value(answers.fillRun);
  const suspects = value(answers.suspectSteps);
  const curve = value(answers.curve);
  const noise = value(answers.noise);
  const display = value(answers.display);
  const ends = value(answers.ends);
  const table = value(answers.table);
  const trial = value(answers.trial);
  const circuit = value(answers.circuit);
  const low = value(answers.lowFuel);
  const range = value(answers.range);
  const verdict = value(answers.verdict);
  const unit = readingUnitIn(answers);
  const volume = volumeWordsOf(job);
  const all: Record<string, (Figure | null)[]> = {
    circuit: circuit ? circuitFigures(circuit, volume) : [],
    "fill-run": [fill && fillRunFigure(fill, suspects)],
    curve: [curve && suspects && curveFigure(curve, suspects, volume)],
    "suspect-steps": [suspects && curve && suspectStepsFigure(suspects, curve, volume)],
    "drive-log": (value(answers.driveLog) ?? []).map((log) => driveLogFigure(log, volume, isFound(answers.curve))),
    noise: [noise && noiseFigure(noise, unit), noise && noiseByLevelFigure(noise, unit, volume)],
    display: [display && job && displayFigure(display, job, volume)],
    ends: [ends && curve && endsFigure(ends, curve, volume)],
    table: [table && curve && tableFigure(table, curve, volume)],
    trial: [trial && trialFigure(trial)],
    "low-fuel": [low && lowFuelFigure(low, volume)],
    "range-left": [range && rangeLeftFigure(range)],
    verdict: [verdict && verdictFigure(verdict, volume, job?.targets.tolerance_L === null)],
  };
  return Object.fromEntries(
    Object.entries(all)
      .map(([name, figures]) => [name, figures.filter((f) => f !== null).map((f) => figureInUnit(f, volume))] as const)
      .filter(([, figures]) => figures.length > 0),
  );
}
