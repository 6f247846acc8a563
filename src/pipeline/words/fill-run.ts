/** What the fill-run leaf says. */
import type { FillRuns } from "../fill-run";
import type { SuspectSteps } from "../suspect-steps";
import type { Finding, Phrase, WorkingLine } from "./finding";
import { counted, quantity, unitSign } from "./quantity";

export function fillRunFinding(fill: FillRuns, suspects: SuspectSteps | null): Finding {
  const run = fill.runs[0]!;
  const used = suspects ? suspects.runs[0]!.steps.filter((s) => s.accepted).length : run.steps.length;
  const aside = run.steps.length - used;
  const worst = Math.max(...run.steps.map((s) => s.standardError));
  const at = run.steps.findIndex((s) => s.standardError === worst);
  const u = unitSign(fill.readingUnit);
  const sentence: Phrase[] = [
    counted(null, run.steps.length, 0, "steps"),
    ", ",
    quantity("sender.total_L", fill.total_L, "L"),
    " in all",
    aside > 0
      ? `; ${used} carry the curve and ${aside} ${aside === 1 ? "is" : "are"} set aside. `
      : "; all carry the curve. ",
    "Each reading is steady to ",
    {
      ...quantity(`fillRuns.0.steps.${at}.standardError_${fill.readingUnit}`, worst, u, 2),
      text: `±\u00a0${quantity(null, worst, u, 2).text}`,
    },
    " or better.",
  ];
  if (fill.fixedSteps)
    sentence.push(
      " The sender shows only fixed levels, about ",
      quantity("sender.fixedSteps.height_L", fill.fixedSteps.height_L, "L", 2),
      " apart: no table can read finer.",
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
    short: [`${used} of ${run.steps.length} steps`],
    condition: [
      run.kind === "recording"
        ? "Standard uncertainty of each plateau, from batch means; rounding added once."
        : "Typed readings: what the last digit leaves open, standard uncertainty.",
    ],
    caution:
      "Petrol vapour lies low and travels far: pour outdoors, earth the container to the tank, keep sparks away, and follow your local code.",
  };
}

export function fillRunWorking(fill: FillRuns): WorkingLine[] {
  const u = unitSign(fill.readingUnit);
  return [
    ...fill.runs.flatMap((run, r): WorkingLine[] => [
      {
        what: `${run.file}: ${run.kind === "recording" ? "a recording, plateaus found" : "a typed sheet"}, ${run.direction === "fill" ? "filled" : "drained"}`,
        formula: run.runningTotal
          ? "u² on the diagonal: each total was read by itself"
          : "cov(vᵢ, vⱼ) = min(i, j)·u_p²",
        figures: ["one pour ± ", quantity(`fillRuns.${r}.pourStandard_L`, run.pourStandard_L, "L", 2), " (standard)"],
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
