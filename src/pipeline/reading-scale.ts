/** Reading scale: from one unit of a reading to another, where the stated circuit makes it certain. */
import { dividerOhms, dividerVolts } from "../math/divider";
import type { Job } from "./job";

export interface ReadingScale {
  to(reading: number): number;
  from(device: number): number;
}

export type ScaleJob = {
  circuit: Pick<Job["circuit"], "kind" | "pullUpOhms" | "supplyVolts" | "adcBits"> &
    Partial<Pick<Job["circuit"], "groundOffsetVolts">>;
};

/** From the curve's reading unit to the device's, where the job makes it certain; over volts where there is no shorter way. */
export function readingScale(curve: string, device: string, job: ScaleJob): ReadingScale | null {
  const direct = oneScale(curve, device, job);
  if (direct) return direct;
  const first = oneScale(curve, "V", job);
  const second = oneScale("V", device, job);
  return first && second ? { to: (r) => second.to(first.to(r)), from: (d) => first.from(second.from(d)) } : null;
}

function oneScale(curve: string, device: string, job: ScaleJob): ReadingScale | null {
  if (curve === device) return { to: (r) => r, from: (r) => r };
  if (curve === "V" && device === "mV") return { to: (r) => r * 1000, from: (r) => r / 1000 };
  const { pullUpOhms, supplyVolts, adcBits, kind, groundOffsetVolts } = job.circuit;
  if (kind === "pull-up" && pullUpOhms !== null && supplyVolts !== null) {
    const ground = groundOffsetVolts ?? 0;
    const ohms = (v: number) => dividerOhms(v, pullUpOhms, supplyVolts, ground);
    const volts = (r: number) => dividerVolts(r, pullUpOhms, supplyVolts, ground);
    if (curve === "V" && device === "ohm") return { to: ohms, from: volts };
    if (curve === "ohm" && device === "V") return { to: volts, from: ohms };
    if (curve === "ohm" && device === "mV") return { to: (r) => 1000 * volts(r), from: (v) => ohms(v / 1000) };
  }
  if (supplyVolts !== null && adcBits !== null) {
    const per = supplyVolts / (2 ** adcBits - 1);
    if (curve === "V" && device === "count") return { to: (v) => v / per, from: (c) => c * per };
    if (curve === "count" && device === "V") return { to: (c) => c * per, from: (v) => v / per };
    if (curve === "count" && device === "mV") return { to: (c) => c * per * 1000, from: (v) => v / per / 1000 };
  }
  return null;
}
