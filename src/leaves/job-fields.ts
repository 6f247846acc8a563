/** The job's fields as they are asked: where each stands in job.json, its label, unit and choices. */

export interface Field {
  path: string;
  label: string;
  unit?: string;
  /** Shown value = stored value × this (a share asked in percent). */
  times?: number;
  text?: boolean;
  /** Rows of a table, written as text. */
  rows?: boolean;
  /** It is typed in the unit that the display shows. */
  shownUnit?: true;
  /** It is typed in the device's unit for deadbands. */
  deadbandUnit?: true;
  options?: { value: string; label: string }[];
  /** Any number of these; the field is the list of those ticked, and not stated while none was touched. */
  ticks?: { value: string; label: string }[];
}

const of = (pairs: Record<string, string>) => Object.entries(pairs).map(([value, label]) => ({ value, label }));
const yesNo = of({ true: "yes", false: "no" });

export const groups: { title: string; open?: boolean; fields: Field[] }[] = [
  {
    title: "Tank",
    open: true,
    fields: [
      { path: "name", label: "Name", text: true },
      { path: "tank.capacity_L", label: "Holds, to the brim", unit: "L" },
      { path: "tank.unusable_L", label: "The pick-up leaves", unit: "L" },
      { path: "tank.unusableLimit_L", label: "which is at most off by ±", unit: "L" },
      { path: "tank.length_mm", label: "Length", unit: "mm" },
      { path: "tank.width_mm", label: "Width", unit: "mm" },
      { path: "tank.depth_mm", label: "Depth", unit: "mm" },
    ],
  },
  {
    title: "How good it must be",
    open: true,
    fields: [
      { path: "targets.tolerance_L", label: "Right within ±", unit: "L" },
      { path: "targets.coverage", label: "How sure", unit: "%", times: 100 },
      { path: "targets.displayReversalsPerMinute", label: "Display turns round at most", unit: "/min" },
      { path: "targets.maxLag_s", label: "Lags at most", unit: "s" },
      { path: "targets.endFlickersPerHour", label: "Flickers at an end at most", unit: "/h" },
      { path: "targets.runDryRisk", label: "Risk of running dry at most", unit: "%", times: 100 },
      { path: "targets.lateZeroRisk", label: "Days on which 0 may show too late, at most", unit: "%", times: 100 },
    ],
  },
  {
    title: "Sender and circuit",
    fields: [
      {
        path: "sender.kind",
        label: "Sender",
        options: of({
          "float-arm": "float arm",
          "reed-ladder": "reed ladder",
          capacitive: "capacitive tube",
          unknown: "unknown",
        }),
      },
      { path: "sender.emptyOhms", label: "Empty", unit: "Ω" },
      { path: "sender.fullOhms", label: "Full", unit: "Ω" },
      { path: "sender.gaugeEmptyOhms", label: "Gauge wants, empty", unit: "Ω" },
      { path: "sender.gaugeFullOhms", label: "Gauge wants, full", unit: "Ω" },
      {
        path: "circuit.kind",
        label: "Read through",
        options: of({ "pull-up": "a pull-up", converter: "a converter", none: "nothing known" }),
      },
      { path: "circuit.pullUpOhms", label: "Pull-up", unit: "Ω" },
      { path: "circuit.pullUpLimit", label: "true within ±", unit: "%", times: 100 },
      { path: "circuit.supplyVolts", label: "Supply", unit: "V" },
      { path: "circuit.supplyLimit", label: "changes by at most ±", unit: "%", times: 100 },
      { path: "circuit.ratiometric", label: "Converter follows the supply", options: yesNo },
      { path: "circuit.adcBits", label: "Converter", unit: "bits" },
      { path: "circuit.groundOffsetVolts", label: "Ground offset", unit: "V" },
      { path: "circuit.gainLimit", label: "Input’s gain true within ±", unit: "%", times: 100 },
      { path: "circuit.offsetLimitVolts", label: "its offset at most ±", unit: "V" },
      { path: "circuit.leakageMicroamps", label: "leaks at most", unit: "µA" },
      { path: "circuit.meterLimit", label: "Multimeter true within ±", unit: "%", times: 100 },
      { path: "circuit.meterCounts", label: "and ± so many last digits", unit: "" },
      { path: "circuit.meterLeadsOhms", label: "Its leads, not taken off", unit: "Ω" },
    ],
  },
  {
    title: "Fill run",
    fields: [
      { path: "fill.enteredAs", label: "Written are", options: of({ added: "single pours", cumulative: "totals" }) },
      {
        path: "fill.startedFrom",
        label: "Started from",
        options: of({ "pick-up-dry": "pick-up run dry", drained: "drained", unknown: "unknown" }),
      },
      { path: "fill.startRemainder_L", label: "In it at the start", unit: "L" },
      { path: "fill.deviceTimeConstant_s", label: "Read through a device that smooths over", unit: "s" },
      { path: "fill.wait_s", label: "after a wait of", unit: "s" },
      { path: "pour.size_L", label: "A pour", unit: "L" },
      { path: "pour.errorPerPour_L", label: "give or take", unit: "L" },
      { path: "pour.scaleErrorLimit", label: "Marks on the can true within ±", unit: "%", times: 100 },
      { path: "pour.density_kg_per_L", label: "Density", unit: "kg/L" },
      { path: "pour.runningTotal", label: "A meter’s running total", options: yesNo },
      {
        path: "drain.container",
        label: "Drained into",
        options: of({ same: "the same can", other: "another container" }),
      },
      { path: "drain.scaleErrorLimit", label: "its marks true within ±", unit: "%", times: 100 },
      { path: "drain.errorPerDraw_L", label: "each draw, give or take", unit: "L" },
      {
        path: "drain.endedAt",
        label: "Drained until",
        options: of({ "pump-draws-air": "the pump drew air", drained: "nothing was left", unknown: "unknown" }),
      },
      { path: "readingUnit", label: "Readings in", options: of({ V: "volts", ohm: "ohms", count: "counts" }) },
      {
        path: "volumeUnit",
        label: "Volumes in",
        options: of({
          L: "litres",
          USgal: "US gallons",
          impgal: "imperial gallons",
          kg: "kilograms",
          percent: "percent",
        }),
      },
    ],
  },
  {
    title: "Device",
    fields: [
      { path: "device.maxTablePoints", label: "Rows at most" },
      { path: "device.spacing", label: "Rows stand", options: of({ free: "anywhere", equal: "evenly" }) },
      {
        path: "device.tableReadingUnit",
        label: "Readings typed in",
        options: of({ V: "V", mV: "mV", ohm: "Ω", count: "counts" }),
      },
      { path: "device.tableReadingStep", label: "in steps of" },
      {
        path: "device.tableVolumeUnit",
        label: "Volumes typed in",
        options: of({ L: "L", USgal: "US gal", impgal: "imp gal", percent: "%" }),
      },
      { path: "device.tableVolumeStep", label: "in steps of" },
      { path: "device.tableOrder", label: "Readings", options: of({ rising: "rising", falling: "falling" }) },
      {
        path: "device.shows",
        label: "Shows",
        options: of({ usable: "usable fuel", "since-start": "all since the start" }),
      },
      {
        path: "device.displayUnit",
        label: "in",
        options: of({ L: "L", percent: "%", USgal: "US gal", impgal: "imp gal" }),
      },
      { path: "device.displayStep", label: "counting by" },
      { path: "device.rate_Hz", label: "Samples", unit: "Hz" },
      {
        path: "device.smooths",
        label: "Smooths",
        options: of({ reading: "the reading, before its table", volume: "the volume, behind its table" }),
      },
      {
        path: "device.smoothing.asks",
        label: "Smoothing typed as",
        options: of({
          seconds: "seconds",
          factor: "a factor",
          cutoff: "a cut-off",
          samples: "samples",
          none: "it has none",
        }),
      },
      { path: "device.smoothing.least", label: "at least" },
      { path: "device.smoothing.most", label: "at most" },
      { path: "device.smoothing.step", label: "in steps of" },
      { path: "device.deadband.unit", label: "Deadband typed in", options: of({ L: "L", percent: "%", V: "V" }) },
      { path: "device.deadband.most", label: "at most" },
      { path: "device.deadband.step", label: "in steps of" },
      { path: "device.warning.canClear", label: "Warning has a clear point", options: yesNo },
      { path: "device.warning.canDelay", label: "Warning has a delay", options: yesNo },
      {
        path: "device.has",
        label: "It also has",
        ticks: of({
          median: "a median of the last readings",
          "rate-limit": "a limit to how fast it may move",
          "hold-in-corner": "a hold while cornering",
          "fault-limits": "fault limits that keep the last good value",
          "refuel-rule": "a rule for refuelling",
        }),
      },
    ],
  },
  {
    title: "Use",
    fields: [
      { path: "consumption.mean", label: "Uses" },
      { path: "consumption.standardUncertainty", label: "give or take, from one day to another" },
      {
        path: "consumption.unit",
        label: "in",
        options: of({
          "L/100km": "L/100 km",
          "L/h": "L/h",
          "L/lap": "L/lap",
          "mpg-us": "mpg (US)",
          "mpg-imp": "mpg (imp.)",
        }),
      },
      { path: "reserve.value", label: "Wanted when the light comes on" },
      {
        path: "reserve.unit",
        label: "in",
        options: of({ km: "km", mi: "miles", h: "hours", lap: "laps", L: "litres" }),
      },
    ],
  },
  {
    title: "As found in the device",
    fields: [
      {
        path: "complaint",
        label: "The driver says",
        options: of({
          "bounces-at-an-end": "it bounces at an end",
          "lamp-in-a-corner": "the lamp comes on in corners",
          "wrong-in-the-middle": "it is wrong in the middle",
          dances: "it dances on the road",
          "slow-after-refuel": "it takes minutes to show a refuel",
        }),
      },
      { path: "asFound.table", label: "Its table, a row a line: ", rows: true },
      { path: "asFound.timeConstant_s", label: "Smoothing", unit: "s" },
      { path: "asFound.deadband", label: "Deadband, ±", deadbandUnit: true },
      { path: "asFound.warnAt", label: "Warns at", shownUnit: true },
      { path: "asFound.faultLimits", label: "Its fault limits are set", options: yesNo },
    ],
  },
];

/** Asked in the circuit's leaf, where the answer stands. Fields without a unit take the reading's own. */
export const enginePairFields: Field[] = [
  { path: "circuit.enginePair.offReading", label: "Engine off it reads" },
  { path: "circuit.enginePair.runningReading", label: "Engine running it reads" },
  { path: "circuit.enginePair.readingLimit", label: "each read within ±" },
  { path: "circuit.enginePair.offSupplyVolts", label: "Pull-up’s supply, engine off", unit: "V" },
  { path: "circuit.enginePair.runningSupplyVolts", label: "Pull-up’s supply, running", unit: "V" },
];

/**
 * What undo calls a change of this field: its label, after the one that it goes on from ("at most" of a smoothing and of a deadband read alike).
 * A tick is called by what was ticked.
 */
export function undoName(field: Field, tick?: string): string {
  const label = field.ticks?.find((t) => t.value === tick)?.label;
  if (label) return `whether it has ${label}`;
  const { fields } = groups.find((g) => g.fields.includes(field))!;
  const goesOn = (f: Field) => /^\p{Ll}/u.test(f.label);
  const begun = fields.slice(0, fields.indexOf(field)).findLast((f) => !goesOn(f));
  const own = field.label.toLowerCase();
  return goesOn(field) && begun ? `${begun.label.toLowerCase()}, ${own}` : own;
}
