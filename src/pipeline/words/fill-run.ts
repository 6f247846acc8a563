/** What the fill-run leaf says. */
import { quantityOf } from "../../quantity";
import type { FillRuns } from "../fill-run";
import { stepsOnStop } from "../on-stop";
import { amountWord, countsDown, drainsAlone } from "../sheet-words";
import type { SuspectSteps } from "../suspect-steps";
import type { Finding, Phrase, Quantity, WorkingLine } from "./finding";
import { counted, quantity, setting, unitSign, whole, within } from "./quantity";

export function fillRunFinding(fill: FillRuns, suspects: SuspectSteps | null): Finding {
  const run = fill.runs[0]!;
  const used = suspects ? suspects.runs[0]!.steps.filter((s) => s.accepted).length : run.steps.length;
  const aside = run.steps.length - used;
  const onStop = suspects ? stepsOnStop(suspects.runs[0]!) : [];
  const worst = Math.max(...run.steps.map((s) => s.standardError));
  const at = run.steps.findIndex((s) => s.standardError === worst);
  const u = unitSign(fill.readingUnit);
  const sentence: Phrase[] = [
    counted(null, run.steps.length, 0, "steps"),
    ", ",
    quantity("sender.total_L", fill.total_L, "L"),
    drainsAlone(fill.runs) ? " drawn in all" : " in all",
    aside > 0
      ? `: the curve rests on ${used}, and ${aside} ${aside === 1 ? "is" : "are"} set aside.`
      : onStop.length > 0
        ? `: the curve rests on all but ${onStop.map(({ step, end }) => `step ${step.index}, which probably stands on the ${end} stop`).join(", and ")}.`
        : ": the curve rests on all of them.",
  ];
  if (fill.fixedSteps)
    sentence.push(
      fill.fixedSteps.resolved
        ? " The sender shows only fixed levels, about "
        : " The sender shows only fixed levels, and the pours were too coarse to part them: they are at most about ",
      quantity("sender.fixedSteps.height_L", fill.fixedSteps.height_L, "L", 2),
      fill.fixedSteps.resolved ? " apart: no table can read finer." : " apart, how much less is not known.",
    );
  for (const [k, zone] of fill.deadZones.entries())
    sentence.push(
      ` At the ${zone.end} end the reading stands still over `,
      quantity(`sender.deadZones.${k}.hidden_L`, zone.hidden_L, "L", 2),
      ": the sender cannot see those.",
    );
  return {
    question: "Which stretches are steps, and how steady is each?",
    sentence,
    further: [
      ...againstCapacity(fill),
      ...(run.kind === "recording"
        ? ["Each reading is steady to "]
        : [`By ${fill.stepOfConverter ? "the converter’s step" : "its last digit"} a reading is good to `]),
      steadyTo(`fillRuns.0.steps.${at}.standardError_${fill.readingUnit}`, worst, u),
      run.kind === "recording" ? " or better." : ".",
    ],
    short: [`${used} of ${run.steps.length} steps`],
    condition: [
      run.kind === "recording"
        ? "One standard deviation of each step’s mean reading. Samples close together are not counted as separate, and the rounding is in it."
        : `Typed readings: what ${fill.stepOfConverter ? "the converter’s step" : "the last digit"} leaves open, as one standard deviation.`,
    ],
    caution:
      "Petrol vapour lies low and travels far: pour outdoors, earth the container to the tank, keep sparks away, and follow your local code.",
  };
}

/** A part of a volt in millivolts: as it is read off a meter. */
function steadyTo(path: string, value: number, unit: string): Quantity {
  const [sign, times] = unit === "V" && value < 0.1 ? ["mV", 1e-3] : [unit, 1];
  return within(quantityOf({ path, value, unit: sign, times, rounding: { by: "figures", figures: 2 } }));
}

/** What the pours say beside the stated capacity: evidence for a missed or doubled pour, and for how full the tank got. */
function againstCapacity(fill: FillRuns): Phrase[] {
  if (fill.capacity_L === null || !(fill.capacity_L > 0)) return [];
  const share = (100 * fill.total_L) / fill.capacity_L;
  return [
    `The ${amountWord(fill.runs[0]!)}s are `,
    counted(null, share, share > 99 && share < 99.95 ? 1 : 0, "%"),
    " of the ",
    whole(setting("sender.capacity_L", fill.capacity_L, "L")),
    " stated for the tank. ",
  ];
}

export function fillRunWorking(fill: FillRuns): WorkingLine[] {
  const u = unitSign(fill.readingUnit);
  const alone = drainsAlone(fill.runs);
  return [
    ...fill.runs.flatMap((run, r): WorkingLine[] => [
      {
        what: `${run.file}: ${run.kind === "recording" ? "a recording, plateaus found" : "a typed sheet"}, ${run.direction === "fill" ? "filled" : "drained"}`,
        formula: run.runningTotal
          ? "u² on the diagonal: each total was read by itself"
          : countsDown(run)
            ? "cov(vᵢ, vⱼ) = (n + min(i, j))·u_p²: counted down from the n pours of the fill run"
            : run.direction === "drain"
              ? "cov(vᵢ, vⱼ) = min(i, j)·u_d², draws counted from the end of the drain run"
              : "cov(vᵢ, vⱼ) = min(i, j)·u_p²",
        figures: [
          `one ${amountWord(run)} ± `,
          quantity(`fillRuns.${r}.pourStandard_L`, run.pourStandard_L, "L", 2),
          " (standard)",
        ],
        source: "JCGM 100:2008, 5.2",
      },
      ...run.steps.map(
        (s, k): WorkingLine => ({
          what: `Step ${s.index}, line ${s.line}`,
          formula: null,
          figures: [
            quantity(`fillRuns.${r}.steps.${k}.volume_L`, s.volume_L, "L"),
            " at ",
            quantity(`fillRuns.${r}.steps.${k}.reading_${fill.readingUnit}`, s.reading, u, 4),
            " ± ",
            quantity(`fillRuns.${r}.steps.${k}.standardError_${fill.readingUnit}`, s.standardError, u, 2),
            ...(s.effectiveSamples !== null
              ? [
                  ", worth ",
                  counted(`fillRuns.${r}.steps.${k}.effectiveSamples`, s.effectiveSamples, 0),
                  " independent samples",
                ]
              : []),
            ...(s.dropped_s !== null && s.dropped_s > 0
              ? [", ", counted(`fillRuns.${r}.steps.${k}.dropped_s`, s.dropped_s, 0, "s"), " of settling dropped"]
              : []),
          ],
          source: null,
        }),
      ),
    ]),
    {
      what: "Marks of the container",
      formula: "limit / √3",
      figures: [quantity("sender.scaleStandard", fill.scaleStandard * 1, "", 2), " relative standard uncertainty"],
      source: "JCGM 100:2008, 4.3.7",
    },
    {
      what: alone ? "What was in the tank at step 0, the end of the drain run" : "What was in the tank at step 0",
      formula: fill.startStandard_L > 0 ? `0.5 % of what was ${alone ? "drawn" : "poured"}, at most; limit / √3` : null,
      figures: [quantity("sender.startStandard_L", fill.startStandard_L, "L", 2), " standard uncertainty"],
      source:
        fill.startStandard_L > 0
          ? `named default, no source: the job does not say how ${alone ? "empty the tank was when the drain run ended" : "the run began"}`
          : null,
    },
    ...(fill.repeatability !== null && fill.betweenRuns !== null
      ? [
          {
            what: "Several runs at equal volumes",
            formula:
              "two-way layout, run by volume: the rest, and the spread of the runs less what the rest puts into it",
            figures: [
              "repeatability ",
              quantity(`sender.repeatability_${fill.readingUnit}`, fill.repeatability, u, 2),
              ", from run to run ",
              quantity(`sender.betweenRuns_${fill.readingUnit}`, fill.betweenRuns, u, 2),
            ],
            source: "ISO 5725-2 (from memory)",
          },
        ]
      : []),
    ...fill.deadZones.map(
      (zone, k): WorkingLine => ({
        what: `Dead zone at the ${zone.end} end, steps ${zone.steps.join(", ")}`,
        formula: null,
        figures: [
          quantity(`sender.deadZones.${k}.hidden_L`, zone.hidden_L, "L", 2),
          ` over which the reading moves less than `,
          quantity(`sender.deadZones.${k}.slopeUpper`, zone.slopeUpper, `${u} a litre`, 2),
          " (upper 95 % limit)",
        ],
        source: null,
      }),
    ),
    ...(fill.hysteresis_L
      ? [
          {
            what: "Rising less falling at equal reading",
            formula: null,
            figures: [
              quantity("sender.hysteresis_L.mean_L", fill.hysteresis_L.mean_L, "L", 2),
              " ± ",
              quantity("sender.hysteresis_L.standard_L", fill.hysteresis_L.standard_L, "L", 2),
            ],
            source: null,
          },
        ]
      : []),
  ];
}
