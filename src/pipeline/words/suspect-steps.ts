/** What the odd-steps leaf says. */
import { say } from "../../said";
import { type OnStop, stepsOnStop } from "../on-stop";
import { type SecondRoom, secondRoomOf } from "../second-room";
import { amountWord, laterSteps, sideOf } from "../sheet-words";
import type { OddEnd } from "../suspect-events";
import type { FaultEvent, SuspectRun, SuspectSteps } from "../suspect-steps";
import type { Finding, Phrase, WorkingLine } from "./finding";
import { counted, percent, quantity, quantityWith, sizeOf } from "./quantity";

/** How far off it sits as the readings alone show it: the head and the cautions say the same figure. */
const seen = (run: number, k: number, e: FaultEvent) =>
  sizeOf(quantityWith(`fillRuns.${run}.events.${k}.seen_L`, e.seen_L, 1.96 * e.seenStandard_L, "L"));

function eventPhrases(run: number, k: number, e: FaultEvent, of: SuspectRun): Phrase[] {
  const step = counted(`fillRuns.${run}.events.${k}.step`, e.step, 0);
  const off = seen(run, k, e);
  const putIn = sizeOf(quantity(`fillRuns.${run}.events.${k}.amount_L`, e.amount_L, "L", 2));
  const pourSide = ` ${sideOf(e.seen_L, of)}`;
  const word = amountWord(of);
  const name = word === "draw" ? "Draw " : "Pour ";
  const probably = e.treatment === "left" ? "perhaps" : "probably";
  switch (e.kind) {
    case "missed-pour":
      return [
        name,
        step,
        ` is ${probably} missing from the sheet: ${laterSteps(of)} sits `,
        off,
        `${pourSide}, and one ${word} is `,
        putIn,
        ".",
      ];
    case "wrong-pour":
      return [
        name,
        step,
        ` is ${probably} not as written: ${laterSteps(of)} sits `,
        off,
        pourSide,
        ...(e.usual_L === null
          ? []
          : [
              "; taken as ",
              quantity(`fillRuns.${run}.events.${k}.usual_L`, e.usual_L, "L", 2),
              ", like the others, it fits",
            ]),
        ".",
      ];
    case "hung-float":
      return [`The float ${probably} hung at step `, step, ": its reading repeats and is worth ", off, " too little."];
    case "wrong-reading":
      return [
        "The reading of step ",
        step,
        ` is ${probably} wrong: it alone is worth `,
        off,
        e.seen_L < 0 ? " too little." : " too much.",
      ];
    case "cannot-be-told":
      return [
        "Step ",
        step,
        " lies ",
        off,
        ` off, and there a wrong ${word} and a wrong reading look the same: it cannot be told which.`,
      ];
  }
}

/** A doubt that nothing was done about says how faint it is. */
const leftOpen = (run: number, k: number, e: FaultEvent): Phrase[] =>
  e.treatment === "left"
    ? [
        " The chance that nothing is wrong there is ",
        percent(`fillRuns.${run}.events.${k}.p`, e.p, 0),
        ": it is left as written until you have looked.",
      ]
    : [];

/** Which run a sentence speaks of, where there are several: every one of them has a step 0. */
function fileBefore({ runs }: SuspectSteps): (run: number) => Phrase[] {
  let last: number | null = null;
  return (run) => {
    if (runs.length < 2 || run === last) return [];
    last = run;
    return [`${runs[run]!.file}: `];
  };
}

/** An end step that was not set aside and still hardly counts: figure, curve and sentence say the same of it. */
const standsOnStop = ({ step, end, chance }: OnStop): Phrase[] => [
  `Step ${step.index} probably stands on the sender’s ${end} stop (chance `,
  percent(null, chance, 0),
  "), and counts that much less.",
];

/** An end that is odder than not and not raised: three things would do it, and none of them is taken for granted. */
const oddEnd = (run: number, k: number, { step, chance, seen_L, seenStandard_L }: OddEnd, of: SuspectRun): Phrase[] => {
  const at = `fillRuns.${run}.oddEnds.${k}`;
  const which = step === of.steps[0]!.index ? "first" : "last";
  return [
    "Step ",
    counted(`${at}.step`, step, 0),
    " lies ",
    sizeOf(quantityWith(`${at}.seen_L`, seen_L, 1.96 * seenStandard_L, "L")),
    ` off the rest: a wrong ${which} reading or ${amountWord(of)} would do that (chance `,
    percent(`${at}.chance`, chance, 0),
    `), and so would ${mayStand(step, seen_L, of)}a tank that bends there. It is left as written, and the band reckons with all of them.`,
  ];
};

/** An end whose reading moved less than its litres may stand on the sender's stop for a part of them; none where it moved more, or missed by more than went in. */
function mayStand(step: number, seen_L: number, { steps }: SuspectRun): string {
  const first = step === steps[0]!.index;
  const [at, beside] = first ? [steps[0]!, steps[1]!] : [steps[steps.length - 1]!, steps[steps.length - 2]!];
  const isEmpty = at.volume_L < beside.volume_L;
  const short_L = isEmpty ? seen_L : -seen_L;
  const stands = short_L > 0 && short_L <= Math.abs(beside.volume_L - at.volume_L);
  return stands ? `a sender that stands on its ${isEmpty ? "empty" : "full"} stop there, or ` : "";
}

/** Where the surface stands while fuel goes in, no reading speaks for a pour. */
const roomFills = (run: number, { chance, steps }: SecondRoom): Phrase[] => [
  "Between steps ",
  counted(`fillRuns.${run}.secondRoom.steps.0`, steps[0], 0),
  " and ",
  counted(`fillRuns.${run}.secondRoom.steps.1`, steps[1], 0),
  " a second room of the tank seems to fill (chance ",
  percent(`fillRuns.${run}.secondRoom.chance`, chance, 0),
  "): a pour forgotten there would show in no reading.",
];

/** What might go unseen: a tank that bends there would look the same. Steps where no size is sure to show are counted. */
function couldHide(suspects: SuspectSteps, words: string, worst: { v: number; path: string }): Phrase[] {
  const inner = suspects.runs.flatMap((r) =>
    r.steps.flatMap((s, k) => (s.studentised === null ? [] : [r.smallestDetectable_L[k] ?? null])).slice(2, -1),
  );
  const blind = inner.filter((v) => v === null).length;
  const upTo = quantity(worst.path, worst.v, "L", 2);
  return [
    `A ${words} that is wrong by up to `,
    upTo,
    " could still go unseen",
    ...(blind > 0
      ? [
          ` at ${inner.length - blind} of ${inner.length} steps, and at the other ${blind === 1 ? "one" : blind} a ${words} that is wrong by any amount`,
        ]
      : []),
    ": a tank that bends there would look the same.",
  ];
}

/** Under this ratio best and worst step read the same in one unit or another: then one figure says it. */
const alike = 1.1;

export function suspectStepsFinding(suspects: SuspectSteps): Finding {
  const events = suspects.runs.flatMap((r, run) => r.events.map((e, k) => ({ run, k, e })));
  const all = suspects.runs
    .flatMap((r, run) =>
      r.smallestDetectable_L.map((v, k) => ({ v, path: `fillRuns.${run}.smallestDetectable_L.${k}` })),
    )
    .filter((d): d is { v: number; path: string } => d.v !== null);
  const worst = all.length ? all.reduce((a, b) => (b.v > a.v ? b : a)) : null;
  const best = all.length ? all.reduce((a, b) => (b.v < a.v ? b : a)) : null;
  const words = [...new Set(suspects.runs.map(amountWord))].join(" or ");
  const doubts = events.length + suspects.runs.reduce((n, r) => n + r.oddEnds.length, 0);
  const named = fileBefore(suspects);
  // Where none can be weighed, none was found to belong either.
  const tooFew = events.length === 0 && suspects.runs.every((r) => r.steps.every((s) => s.studentised === null));
  const sentence: Phrase[] = tooFew
    ? ["Too few steps to tell whether one of them does not belong."]
    : events.length === 0
      ? suspects.runs.some((r) => r.oddEnds.length > 0)
        ? suspects.runs.flatMap((r, run) =>
            r.oddEnds.flatMap((end, k) => [run + k > 0 ? " " : "", ...named(run), ...oddEnd(run, k, end, r)]),
          )
        : ["All steps belong: none stands out from a smooth curve."]
      : events.flatMap(({ run, k, e }, i) => [
          i > 0 ? " " : "",
          ...named(run),
          ...eventPhrases(run, k, e, suspects.runs[run]!),
          ...leftOpen(run, k, e),
        ]);
  suspects.runs.forEach((r, run) => {
    const room = secondRoomOf(r);
    if (room) sentence.push(" ", ...named(run), ...roomFills(run, room));
  });
  const namedOnStop = fileBefore(suspects);
  const further = [
    ...(events.length > 0
      ? suspects.runs.flatMap((r, run) => r.oddEnds.map((end, k) => [...namedOnStop(run), ...oddEnd(run, k, end, r)]))
      : []),
    ...suspects.runs.flatMap((r, run) => stepsOnStop(r).map((stop) => [...namedOnStop(run), ...standsOnStop(stop)])),
    ...(events.length === 0 && worst ? [couldHide(suspects, words, worst)] : []),
  ].flatMap((said, i) => (i > 0 ? [" ", ...said] : said));
  return {
    question: "Which steps do not belong, and what changes without them?",
    sentence,
    further,
    short: tooFew ? ["too few"] : doubts === 0 ? ["none"] : [`${doubts} ${doubts === 1 ? "doubt" : "doubts"}`],
    condition:
      best && worst
        ? [
            `In 95 of 100 runs a wrong ${words} shows from `,
            ...(worst.v < alike * best.v
              ? [quantity(worst.path, worst.v, "L", 2), " on at any step"]
              : [
                  quantity(best.path, best.v, "L", 2),
                  " on at the best step, from ",
                  quantity(worst.path, worst.v, "L", 2),
                  " on at the worst",
                ]),
            `. The bars of the figure are smaller, because the curve under them gives way to a wrong ${words}.`,
          ]
        : [
            suspects.runs.some((r) => r.steps.some((s) => s.studentised !== null))
              ? `These readings are too coarse for one wrong ${words} or reading to be sure to show.`
              : "Pour more steps: then each is weighed against the others.",
          ],
    caution:
      events.length === 0
        ? null
        : events.every(({ e }) => e.treatment === "left")
          ? "Nothing was changed. Look at the sheet or the receipt; then leave it, or set it right."
          : "Nothing was deleted. What was done by rule stays provisional until you confirm it or take it back, after a look at the sheet or the receipt.",
    says: [
      ...events.map(({ e }) => `suspect-steps/${e.kind}`),
      ...(suspects.runs.some(secondRoomOf) ? ["suspect-steps/second-room"] : []),
    ],
  };
}

export function suspectStepsWorking(suspects: SuspectSteps): WorkingLine[] {
  return [
    ...suspects.runs.flatMap((r, run) =>
      r.events.flatMap((e, k): WorkingLine[] => [
        {
          what: e.says,
          formula:
            "prior × likelihood of every set of faults, hidden ends, bends and second rooms; a wrong amount moves all later steps along the volume",
          figures: ["chance that nothing is wrong there ", quantity(`fillRuns.${run}.events.${k}.p`, e.p, "", 2)],
          source: "likelihood averaged over roughness and noise; prior odds are named defaults, no source",
        },
        ...e.alternatives.slice(0, 3).map(
          (a, j): WorkingLine => ({
            what: `Instead: ${a.kind.replaceAll("-", " ").replace("pour", amountWord(r))} at step ${a.step}`,
            formula: null,
            figures: [
              quantity(`fillRuns.${run}.events.${k}.alternatives.${j}.amount_L`, a.amount_L, "L", 2),
              ", likelihood ",
              quantity(`fillRuns.${run}.events.${k}.alternatives.${j}.likelihoodRatio`, a.likelihoodRatio, "", 2),
              " of the first",
            ],
            source: null,
          }),
        ),
      ]),
    ),
    ...suspects.runs.flatMap((r, run) =>
      r.steps.map(
        (s, k): WorkingLine => ({
          what: say`Step ${s.index}${s.flag ? `: ${s.flag.replaceAll("-", " ").replace("pour", amountWord(r))}` : ""}${s.reason ? say`. ${s.reason}` : ""}`,
          formula: null,
          figures: [
            ...(s.studentised !== null
              ? ["studentised ", counted(`fillRuns.${run}.steps.${k}.studentised`, s.studentised, 2)]
              : []),
            ...(s.leverage !== null
              ? [", leverage ", counted(`fillRuns.${run}.steps.${k}.leverage`, s.leverage, 2)]
              : []),
            ...(s.cook !== null ? [", Cook ", counted(`fillRuns.${run}.steps.${k}.cook`, s.cook, 2)] : []),
            ...(r.smallestDetectable_L[k] != null
              ? [
                  `; told in 95 of 100 runs: a wrong ${amountWord(r)} from `,
                  quantity(`fillRuns.${run}.smallestDetectable_L.${k}`, r.smallestDetectable_L[k]!, "L", 2),
                ]
              : []),
            ...(r.smallestReading_L[k] != null
              ? [
                  r.smallestDetectable_L[k] != null
                    ? ", a wrong reading from "
                    : "; told in 95 of 100 runs: a wrong reading from ",
                  quantity(`fillRuns.${run}.smallestReading_L.${k}`, r.smallestReading_L[k]!, "L", 2),
                ]
              : []),
          ],
          source: null,
        }),
      ),
    ),
    ...suspects.limits.map(
      (l): WorkingLine => ({ what: l.name, formula: null, figures: [counted(null, l.value, 2)], source: l.source }),
    ),
  ];
}
