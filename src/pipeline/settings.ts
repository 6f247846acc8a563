/** Settings: the very numbers to type, in the device's own units, range and step. What the card shows and the trial replays. */
import type { Answer } from "../answer";
import type { Circuit } from "./circuit";
import type { Display } from "./display";
import type { Ends } from "./ends";
import type { Job } from "./job";
import type { LowFuel } from "./low-fuel";
import type { Table } from "./table";

/** One number to type. `digits` is the text to type; `path` is where it stands in the published analysis. */
export interface SettingLine {
  group: "table" | "smoothing" | "deadband" | "ends" | "fault-limits" | "warning";
  label: string;
  digits: string;
  unit: string;
  path: string;
}

export interface Settings {
  table: { reading: number; volume: number; readingUnit: string; volumeUnit: string }[];
  smoothing: { asks: string; value: number | null; unit: string } | null;
  deadband: { value: number; unit: string; kind: "play" | "jump" } | null;
  warning: { at: number; clear: number | null; delay_s: number | null; unit: string } | null;
  faultLimits: { low: number; high: number; unit: string } | null;
  ends: { empty: number; full: number; unit: string };
  lines: SettingLine[];
}

export function writeSettings(
  _table: Table,
  _ends: Ends,
  _display: Display | null,
  _circuit: Circuit | null,
  _lowFuel: LowFuel | null,
  _job: Job,
): Answer<Settings> {
  throw new Error("not written yet");
}
