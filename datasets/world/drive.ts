/** Drive: what does the sender show on the road while fuel is burnt? Surface modes driven by accelerations, noise, faults of the line. */
import type { Random } from "../../src/math/random";
import { STANDARD_GRAVITY } from "../../src/units";
import { type CircuitTruth, type DayTruth, readingAt, type SenderTruth, unitsPerVolt } from "./sender";
import type { Tank } from "./tank";

export type DriveStyle = "road" | "rough" | "circuit";

export interface DriveTruth {
  style: DriveStyle;
  /** Damping ratio of the surface modes and how strongly baffles let them be driven (1: no baffles). */
  damping: number;
  forcing: number;
  /** Floor noise of one sample, volts (ohms for an ohmmeter). */
  floor: number;
  spikesPerMinute: number;
  spike: number;
  dropoutsPerMinute: number;
  dropoutTo: "short" | "open";
  /** The reading is refreshed this often; 0: with every row. */
  refresh_Hz: number;
  burn_L_per_h: number;
  /** Circuit: laps are driven in this direction, and take so long. */
  turning: 1 | -1;
  lap_s: number;
}

export interface DriveRecord {
  time_s: Float64Array;
  reading: Float64Array;
  /** What the reading would be without spikes, dropouts and noise. */
  clean: Float64Array;
  contents_L: Float64Array;
  along_g: Float64Array;
  across_g: Float64Array;
  speed_kmh: Float64Array;
  /** 1 spike, 2 dropout. */
  mark: Uint8Array;
}

/** First antisymmetric mode of a rectangular tank, Hz (linear potential theory, NASA SP-106). */
export function modeFrequency_Hz(length_mm: number, depth_mm: number): number {
  const k = (Math.PI / length_mm) * 1000;
  return Math.sqrt(STANDARD_GRAVITY * k * Math.tanh((k * Math.max(5, depth_mm)) / 1000)) / (2 * Math.PI);
}

export function simulateDrive(
  tank: Tank,
  sender: SenderTruth,
  circuit: CircuitTruth,
  day: DayTruth,
  truth: DriveTruth,
  options: { seconds: number; rate_Hz: number; from_L: number; least_L: number },
  random: Random,
): DriveRecord {
  const dt = 1 / options.rate_Hz;
  const n = Math.floor(options.seconds * options.rate_Hz);
  const columns = () => new Float64Array(n);
  const record: DriveRecord = {
    time_s: columns(),
    reading: columns(),
    clean: columns(),
    contents_L: columns(),
    along_g: columns(),
    across_g: columns(),
    speed_kmh: columns(),
    mark: new Uint8Array(n),
  };
  const course = createCourse(truth, dt, random);
  const along = createMode(truth.damping, dt);
  const across = createMode(truth.damping, dt);
  const perVolt = unitsPerVolt(circuit);
  const rail = truth.dropoutTo === "short" ? 0 : circuit.kind === "ohmmeter" ? 9999 : circuit.supplyVolts * perVolt;
  const limit = 0.4 * tank.depth_mm;
  const retune = Math.max(1, Math.round(options.rate_Hz));
  const perRefresh = truth.refresh_Hz > 0 ? Math.max(1, Math.round(options.rate_Hz / truth.refresh_Hz)) : 1;
  let contents = options.from_L;
  let dropoutLeft = 0;
  let held = Number.NaN;
  for (let i = 0; i < n; i++) {
    const g = course.next();
    contents = Math.max(options.least_L, contents - (truth.burn_L_per_h / 3600) * dt);
    const height = tank.heightAt(contents);
    if (i % retune === 0) {
      along.tune(modeFrequency_Hz(tank.length_mm, height * tank.depth_mm));
      across.tune(modeFrequency_Hz(tank.width_mm, height * tank.depth_mm));
    }
    const rise = along.next(g.along * truth.forcing) * sender.offAlong_mm + across.next(g.across) * sender.offAcross_mm;
    const local = Math.min(1, Math.max(0, height + (limit * Math.tanh(rise / limit)) / tank.depth_mm));
    const clean = readingAt(sender, circuit, day, local);
    let reading = clean + truth.floor * perVolt * random.normal();
    if (random.uniform() < (truth.spikesPerMinute / 60) * dt) {
      reading += (random.uniform() < 0.5 ? -1 : 1) * truth.spike * perVolt * (0.5 + random.uniform());
      record.mark[i] = 1;
    }
    if (dropoutLeft === 0 && random.uniform() < (truth.dropoutsPerMinute / 60) * dt)
      dropoutLeft = Math.max(1, Math.round((0.1 + 1.4 * random.uniform()) / dt));
    if (dropoutLeft > 0) {
      dropoutLeft--;
      reading = rail;
      record.mark[i] = 2;
    }
    if (circuit.kind !== "ohmmeter") reading = Math.min(circuit.supplyVolts * perVolt, Math.max(0, reading));
    if (perRefresh > 1) {
      if (i % perRefresh === 0 || Number.isNaN(held)) held = reading;
      else reading = held;
    }
    record.time_s[i] = i * dt;
    record.reading[i] = roundByConverter(circuit, reading);
    record.clean[i] = clean;
    record.contents_L[i] = contents;
    record.along_g[i] = g.along;
    record.across_g[i] = g.across;
    record.speed_kmh[i] = g.speed;
  }
  return record;
}

export function roundByConverter(circuit: CircuitTruth, reading: number): number {
  if (circuit.unit === "count") return Math.round(reading);
  if (circuit.adcBits === 0 || circuit.kind === "ohmmeter") return reading;
  const step = circuit.supplyVolts / (2 ** circuit.adcBits - 1);
  return Math.round(reading / step) * step;
}

/** Damped oscillator driven by a force that is held over each step: exact propagation. At rest it shows the force itself. */
function createMode(damping: number, dt: number) {
  let x = 0;
  let v = 0;
  let [a, b, c, d] = [1, 0, 0, 1];
  return {
    tune(frequency_Hz: number) {
      const w = 2 * Math.PI * frequency_Hz;
      const wd = w * Math.sqrt(1 - damping * damping);
      const e = Math.exp(-damping * w * dt);
      const [cos, sin] = [Math.cos(wd * dt), Math.sin(wd * dt)];
      a = e * (cos + (damping * w * sin) / wd);
      b = (e * sin) / wd;
      c = (-e * w * w * sin) / wd;
      d = e * (cos - (damping * w * sin) / wd);
    },
    next(force: number): number {
      const y = x - force;
      x = force + a * y + b * v;
      v = c * y + d * v;
      return x;
    },
  };
}

/** Accelerations (g) and speed of a made-up course: slow manoeuvres, and shaking that grows with speed. */
function createCourse(truth: DriveTruth, dt: number, random: Random) {
  let t = 0;
  let speed = 0;
  let target = 0;
  let changeAt = 0;
  let turn = 0;
  let slope = 0;
  let push = 0;
  const rate = 1 / dt;
  const wander = (value: number, sd: number, time_s: number) => {
    const keep = Math.exp(-dt / time_s);
    return keep * value + sd * Math.sqrt(1 - keep * keep) * random.normal();
  };
  const corners = Array.from({ length: 8 }, () => ({
    at: random.uniform() * truth.lap_s,
    long: 3 + 5 * random.uniform(),
    g: (random.uniform() < 0.8 ? 1 : -1) * truth.turning * (0.25 + 0.35 * random.uniform()),
  }));
  return {
    next(): { along: number; across: number; speed: number } {
      t += dt;
      if (t >= changeAt) {
        const top = truth.style === "road" ? 90 : truth.style === "rough" ? 30 : 130;
        target = random.uniform() < 0.12 && truth.style !== "circuit" ? 0 : top * (0.25 + 0.75 * random.uniform());
        changeAt = t + (truth.style === "circuit" ? 5 + 8 * random.uniform() : 12 + 45 * random.uniform());
      }
      const strong = truth.style === "circuit" ? 0.35 : 0.13;
      const want = Math.max(-strong, Math.min(strong, (target - speed) / 3.6 / STANDARD_GRAVITY / 2));
      push = wander(push, 0.015, 1) + (dt / 0.4) * (want - push);
      const before = speed;
      speed = Math.max(0, speed + push * STANDARD_GRAVITY * 3.6 * dt);
      const moving = Math.min(1, speed / 20);
      const along = (speed - before) / (3.6 * STANDARD_GRAVITY * dt);
      let across = 0;
      if (truth.style === "circuit") {
        const lap = t % truth.lap_s;
        for (const corner of corners) {
          const from = lap - corner.at;
          if (from > 0 && from < corner.long) across += corner.g * Math.sin((Math.PI * from) / corner.long);
        }
        across = Math.max(-0.8, Math.min(0.8, across)) * moving;
      } else {
        turn = wander(turn, truth.style === "road" ? 0.08 : 0.05, 2.5);
        across = turn * moving;
      }
      // Rough ground leans the vehicle; a made road has camber and hills.
      slope = wander(slope, truth.style === "rough" ? 0.07 : 0.015, 9);
      const shake =
        (truth.style === "rough" ? 0.07 : truth.style === "road" ? 0.025 : 0.035) * Math.sqrt(rate / 20) * moving;
      return {
        along: along + slope + shake * random.normal(),
        across: across + 0.7 * slope + shake * random.normal(),
        speed,
      };
    },
  };
}
