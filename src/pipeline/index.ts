/** The whole pipeline on one page: what depends on what. All three doors (page, worker, command line) call this. */
import { type Answer, all, ready, valueIn } from "../answer";
import { curveAsFound, inFoundLitres } from "./as-found";
import type { Choices, FileReading } from "./choices";
import { checkCircuit } from "./circuit";
import { explainComplaint } from "./complaint";
import { countedLogs, notCounted } from "./counted-logs";
import { fitCurve } from "./curve";
import { doubtOf } from "./curve-doubt";
import { volumeAt } from "./curve-lookup";
import type { Curve, VolumeByReading } from "./curve-types";
import { chooseDisplay } from "./display";
import { readDrive } from "./drive-log";
import { rowsOfLogs } from "./drive-rows";
import { scaleUnder, topOf } from "./end-motion";
import type { EndRuns } from "./end-table";
import { setEnds } from "./ends";
import { createEngine, type Input, maybe, part, type Stage } from "./engine";
import { type FillRuns, findSteps } from "./fill-run";
import { floorOf, floorSamples } from "./floor-of-log";
import { fillJobOf, type JobInput, resolveJob } from "./job";
import { lookAt, markLog, travelBetween, widestStepOf } from "./log-marks";
import { motionOf } from "./log-motion";
import { meetsOverOhms } from "./log-units";
import { flowJobOf } from "./logged-flow";
import { setWarning } from "./low-fuel";
import { describeNoise } from "./noise";
import { rangeLeft } from "./range-left";
import { type Recording, readRecording, type SourceFile } from "./recording";
import { writeSettings } from "./settings";
import { compareRuns } from "./several-runs";
import { volumeBySteps } from "./step-volume";
import { atStatedSupply, toldOfSupply } from "./supply-correction";
import { supplySeen, withSupplySeen } from "./supply-in-service";
import { weighSteps } from "./suspect-steps";
import { cutTable, type Table } from "./table";
import { tiltGround, tiltSamples } from "./tilt";
import { replayTrial } from "./trial";
import { judge } from "./verdict";

/** Everything that is stored and nothing that can be computed. Immutable: an edit makes new objects only where it changes. */
export interface Sources {
  job: JobInput;
  files: { fills: SourceFile[]; drives: SourceFile[] };
  /** By hand: how a file is to be read, keyed by its hash. */
  readings: Record<string, FileReading>;
  choices: Choices;
}

const noTable: Answer<null> = ready(null);

export function createPipeline(first: Sources) {
  const { source, stage, set } = createEngine(first);
  const choice = <K extends keyof Choices>(key: K): Input<Choices[K]> =>
    source(`choices.${key}`, (s) => s.choices[key]);
  const readings = source("readings", (s) => s.readings);
  const jobInput = source("job input", (s) => s.job);
  const fillFiles = source("fill files", (s) => s.files.fills);
  const driveFiles = source("drive files", (s) => s.files.drives);
  const seed = choice("seed");

  const drainsOnly = part(fillFiles, (files) => files.length > 0 && files.every((f) => f.kind === "drain"));
  const job = stage("job", [jobInput, drainsOnly], resolveJob);
  const fills = stage("fill recordings", [fillFiles, readings], readAll);
  const drives = stage("drive recordings", [driveFiles, readings], readAll);
  // A device, a wish or a complaint makes no other fill run: what is made of the pours stays as it is when one of those changes.
  const fillJob = part(job, fillJobOf);
  const fillRun = stage("fill-run", [fills, fillJob], (runs, stated) =>
    atStatedSupply(
      runs,
      stated,
      (corrected, residue) => {
        const steps = findSteps(corrected, stated);
        const left = residue();
        return steps.state === "ready" && left !== null
          ? ready({ ...steps.value, supplyResidue: left }, steps.cautions)
          : steps;
      },
      (found) => ({ unit: found.readingUnit, litresAt: volumeBySteps(found) }),
    ),
  );
  // The service day counts what a drive shows of the supply; a drive that shows none leaves curve and circuit as they are.
  const supply = stage("supply", [drives, part(job, ({ circuit }) => ({ circuit }))], supplySeen);
  const served = stage("job in service", [job, part(maybe(supply), (seen) => seen)], (stated, seen) =>
    ready(withSupplySeen(stated, seen)),
  );
  const circuit = stage("circuit", [served, maybe(fillRun)], checkCircuit);
  const suspectSteps = stage("suspect-steps", [fillRun, fillJob, choice("steps")], weighSteps);
  const severalRuns = stage("several-runs", [fillRun, maybe(suspectSteps), job], compareRuns);
  const curve = stage("curve", [suspectSteps, fillRun, part(served, fillJobOf), choice("curve")], fitCurve);
  // A complaint may come without a fill run: then the drive is read through the table found in the device.
  const found = stage("as-found", [job], curveAsFound);
  const litres: Input<VolumeByReading> = {
    name: "litres",
    upstream: new Set([...curve.upstream, ...found.upstream]),
    read: () => (valueIn(fillFiles.read())?.length === 0 ? found.read() : curve.read()),
  };
  // The drive side is slow on a long log, and reads little of the job: a change of anything else leaves it as it is.
  const litresOnly = part(litres, ({ readingUnit, grid }) => ({ readingUnit, grid }));
  const doubt = part(maybe(curve), (c) => c && doubtOf(c));
  const widestStep = part(maybe(fillRun), (f) => widestStepOf(f?.fixedSteps ?? null));
  const faultLimits = part(maybe(circuit), (c) => c && { faultLow: c.faultLow, faultHigh: c.faultHigh });
  const rowsJob = part(job, ({ circuit, readingUnit, assumed, volumeUnit, pour }) => ({
    circuit: {
      kind: circuit.kind,
      supplyVolts: circuit.supplyVolts,
      adcBits: circuit.adcBits,
      ratiometric: circuit.ratiometric,
      groundOffsetVolts: circuit.groundOffsetVolts,
    },
    readingUnit,
    assumed: assumed.filter((a) => a.path === "circuit.ratiometric"),
    flow: flowJobOf({ volumeUnit, pour }),
  }));
  const curveUnit = part(litres, ({ readingUnit }) => readingUnit);
  // Only where ohms meet volts does the pull-up say what a row reads.
  const pullUp = part(
    stage(
      "pull-up of the drive",
      [drives, curveUnit, part(job, ({ circuit }) => circuit.pullUpOhms)],
      (logs, unit, ohms) => ready(logs.some((r) => meetsOverOhms(unitOfLog(r), unit)) ? ohms : null),
    ),
    (ohms) => ohms,
  );
  const driveRows = stage(
    "drive rows",
    [drives, curveUnit, rowsJob, pullUp, choice("driveParts")],
    (logs, unit, stated, pullUpOhms, parts) =>
      rowsOfLogs(logs, unit, { ...stated, circuit: { ...stated.circuit, pullUpOhms } }, parts),
  );
  // Another curve between the same readings marks no row otherwise.
  const lookedAt = stage(
    "readings of the drive",
    [driveRows, part(litresOnly, travelBetween), widestStep, part(doubt, (unsure) => unsure !== null)],
    ({ logs }, travel, step, isMeasured) =>
      ready(logs.map((log) => lookAt(log, travel, step, isMeasured && step === 0))),
  );
  const marked = stage("marks of the drive", [lookedAt, faultLimits], (logs, limits) =>
    ready(logs.map((log) => markLog(log, limits))),
  );
  const driveLog = stage(
    "drive-log",
    [marked, driveRows, litresOnly, rowsJob, part(job, ({ sender }) => sender.kind), fillFiles, doubt],
    (logs, { supply }, curve, stated, senderKind, fillRuns, unsure) => {
      const read = toldOfSupply(
        readDrive(logs, curve, senderKind, unsure),
        supply,
        stated,
        // A log in another unit than the curve's is converted later: its litres are then not known here.
        () => ({
          unit: curve.readingUnit,
          litresAt: supply.every(({ recording }) => sameUnit(recording, curve.readingUnit))
            ? (reading) => volumeAt(curve, reading)
            : null,
        }),
      );
      if (read.state !== "ready") return read;
      const cautions = [...read.cautions, ...notCounted(read.value)];
      return ready(read.value, fillRuns.length === 0 ? [inFoundLitres, ...cautions] : cautions);
    },
  );
  const counted = part(driveLog, countedLogs);
  // What is slow about the noise stands apart: the floor is of the readings alone, and no word of the job makes other motion.
  const evenTop = stage("even scale", [litresOnly, rowsJob], (curve, stated) => ready(topOf(curve, stated)));
  const floor = stage("floor", [part(counted, floorSamples), part(evenTop, (top) => top)], (samples, top) =>
    ready(floorOf(samples, scaleUnder(top))),
  );
  const tilt = stage("accelerations", [part(counted, tiltSamples)], (samples) => ready(tiltGround(samples)));
  const motion = stage("motion", [counted, tilt, litresOnly, doubt], motionOf);
  const noise = stage(
    "noise",
    [motion, floor, counted, litresOnly, part(job, ({ tank }) => ({ tank }))],
    describeNoise,
  );
  const displayJob = part(job, ({ tank, fill, circuit, device, targets }) => ({
    tank,
    fill,
    circuit,
    device,
    targets,
  }));
  const display = stage(
    "display",
    [
      counted,
      noise,
      litresOnly,
      faultLimits,
      displayJob,
      choice("display"),
      part(maybe(curve), (c) => c && endsOf(c)),
      part(maybe(fillRun), (f) => f && stepsOf(f)),
    ],
    (logs, noise, curve, limits, job, choice, ofEnds, fillRuns) =>
      chooseDisplay(logs, noise, curve, limits, job, choice, ofEnds && fillRuns ? { curve: ofEnds, fillRuns } : null),
  );
  const ends = stage(
    "ends",
    [
      curve,
      fillRun,
      maybe(noise),
      maybe(display),
      maybe(counted),
      maybe(circuit),
      job,
      choice("ends"),
      choice("table"),
    ],
    setEnds,
  );
  const table = stage("table", [curve, ends, job, choice("table")], cutTable);
  const tableToType: Input<Table | null> = {
    name: "table",
    upstream: table.upstream,
    read: () => (valueIn(fillFiles.read())?.length === 0 ? noTable : table.read()),
  };
  const trial = stage("trial", [counted, tableToType, display, maybe(circuit), litres, job], replayTrial);
  const complaint = stage(
    "complaint",
    [job, maybe(driveLog), maybe(litres), maybe(curve), maybe(circuit), maybe(display)],
    explainComplaint,
  );
  const lowFuel = stage(
    "low-fuel",
    [
      curve,
      maybe(display),
      maybe(noise),
      maybe(trial),
      maybe(counted),
      job,
      choice("lowFuel"),
      maybe(table),
      faultLimits,
    ],
    setWarning,
  );
  const range = stage("range-left", [curve, lowFuel, maybe(display), maybe(table), job, seed], rangeLeft);
  const verdict = stage("verdict", [curve, suspectSteps, table, ends, maybe(trial), job, seed], judge);
  const settings = stage("settings", [table, ends, maybe(display), maybe(circuit), maybe(lowFuel), job], writeSettings);

  /** In reading order: the order of the leaves, and of the answers that the worker sends. */
  const stages = {
    job,
    fills,
    drives,
    circuit,
    fillRun,
    suspectSteps,
    severalRuns,
    curve,
    driveLog,
    noise,
    display,
    ends,
    table,
    trial,
    complaint,
    lowFuel,
    range,
    verdict,
    settings,
  };
  return { stages, set };
}

export type Pipeline = ReturnType<typeof createPipeline>;
export type StageName = keyof Pipeline["stages"];
export type ValueOf<N extends StageName> = Pipeline["stages"][N] extends Stage<infer T> ? T : never;
/** The answers of all stages, as the page, the report and the analysis read them. */
export type Answers = { [N in StageName]: import("../answer").Answer<ValueOf<N>> };

export function answersOf(pipeline: Pipeline): Answers {
  return Object.fromEntries(Object.entries(pipeline.stages).map(([name, stage]) => [name, stage.read()])) as Answers;
}

/** What of the curve and of the fill runs the ends stand on, for a display that is to hold them still. */
const endsOf = ({ readingUnit, sense, grid, overall: { emptyReading, fullReading, bandHalfWidth_L } }: Curve) => ({
  readingUnit,
  sense,
  grid,
  overall: { emptyReading, fullReading, bandHalfWidth_L },
  asWritten: null,
});
const stepsOf = ({ readingStep, fixedSteps, runs }: FillRuns): EndRuns => ({
  readingStep,
  fixedSteps,
  runs: runs.map(({ steps }) => ({
    steps: steps.map(({ volume_L, reading, standardError }) => ({ volume_L, reading, standardError })),
  })),
});

const unitOfLog = (log: Recording): string | null => log.columns.find((c) => c.role === "reading")?.unit ?? null;
const sameUnit = (log: Recording, unit: string): boolean => [null, unit].includes(unitOfLog(log));

function readAll(files: SourceFile[], readings: Record<string, FileReading>) {
  const same = (a: SourceFile, b: SourceFile) =>
    a === b ||
    (a.kind === b.kind && a.bytes.length === b.bytes.length && a.bytes.every((byte, i) => byte === b.bytes[i]));
  // The same file twice is one run that was read once: taken as two it would look like a sender that repeats perfectly.
  const first = files.map((file) => files.find((other) => same(other, file))!);
  const read = all(
    files.filter((file, i) => file === first[i]).map((file) => readRecording(file, readings[file.sha256] ?? null)),
  );
  if (read.state !== "ready") return read;
  const twice = files.flatMap((file, i) =>
    file === first[i]
      ? []
      : [
          {
            code: "recording/twice",
            says:
              first[i]!.name === file.name
                ? `${file.name} is given twice; it is taken once.`
                : `${file.name} holds the same as ${first[i]!.name}, to the last byte; it is taken once.`,
            remedy: "If another recording is meant, bring that one.",
            where: { file: file.name },
            weight: "doubtful" as const,
          },
        ],
  );
  return ready(read.value, [...read.cautions, ...twice]);
}
