/** First natural frequency of a liquid in a rectangular tank: √(g·(nπ/L)·tanh(nπh/L))/(2π), linear potential theory (NASA SP-106). */
import { STANDARD_GRAVITY } from "../units";

export function tankMode_Hz(length_m: number, depth_m: number, mode = 1, gravity = STANDARD_GRAVITY): number {
  const k = (mode * Math.PI) / length_m;
  return Math.sqrt(gravity * k * Math.tanh(k * depth_m)) / (2 * Math.PI);
}
