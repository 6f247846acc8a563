/**
 * Voltage divider of a pull-up and a resistive sender. Node equation (Ohm's law); closed forms derived from it.
 * Ohms, volts, watts, amperes. `ground` is how far the sender's own ground stands above the converter's.
 */

/** Volts at the input for sender resistance `sender`. */
export const dividerVolts = (sender: number, pullUp: number, supply: number, ground = 0): number =>
  (supply * sender + ground * pullUp) / (sender + pullUp);

/** Sender resistance that gives `volts`; infinite at the supply itself (an open sender). */
export const dividerOhms = (volts: number, pullUp: number, supply: number, ground = 0): number =>
  volts >= supply ? Number.POSITIVE_INFINITY : (pullUp * (volts - ground)) / (supply - volts);

/** dV/dR, volts per ohm, ground at zero. */
export const dividerSlope = (sender: number, pullUp: number, supply: number): number =>
  (supply * pullUp) / (sender + pullUp) ** 2;

/** Volts between both ends of the travel. */
export const dividerSpan = (least: number, most: number, pullUp: number, supply: number): number =>
  (supply * pullUp * (most - least)) / ((most + pullUp) * (least + pullUp));

/** Largest error of a straight line in volts through both ends, as a fraction of the span. */
export function dividerBend(least: number, most: number, pullUp: number): number {
  const a = Math.sqrt(most + pullUp);
  const b = Math.sqrt(least + pullUp);
  return (a - b) / (a + b);
}

/** Sender resistance at which that error is largest. */
export const dividerBendAt = (least: number, most: number, pullUp: number): number =>
  Math.sqrt((least + pullUp) * (most + pullUp)) - pullUp;

/** Pull-up with the largest span: the geometric mean of the ends. */
export const widestPullUp = (least: number, most: number): number => Math.sqrt(least * most);

/** Most heat in the sender over its travel; at R = pull-up if the sender reaches it. */
export function senderHeat(least: number, most: number, pullUp: number, supply: number): number {
  const worst = Math.min(most, Math.max(least, pullUp));
  return (supply ** 2 * worst) / (worst + pullUp) ** 2;
}
