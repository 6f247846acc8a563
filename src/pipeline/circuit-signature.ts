/** Measured ends held against the divider's prediction: which single fault would explain the difference? */
import { fixed } from "../format";
import { dividerVolts } from "../math/divider";

export interface MeasuredEnds {
  emptyVolts: number;
  fullVolts: number;
  predictedEmptyVolts: number;
  predictedFullVolts: number;
  signature:
    | "as-stated"
    | "part-travel"
    | "inside-travel"
    | "sender-reversed"
    | "wires-swapped"
    | "pull-up-missing"
    | "pull-up-differs"
    | "supply-differs"
    | "bad-ground"
    | "ohms-in-the-wire"
    | "converter-on-pull-up"
    | "sender-differs";
  says: string;
}

/** Ends count as explained within this share of the predicted span. Named default, no source. */
const near = 0.04;

/** Volts and ohms at both ends; `whole`: the fill run went over the whole tank. */
export function compareEnds(
  measured: { empty: number; full: number },
  ohms: { empty: number; full: number },
  pullUp: number,
  supply: number,
  ground: number,
  whole: boolean,
): MeasuredEnds {
  const predict = (p: number, s: number, g: number) => ({
    empty: dividerVolts(ohms.empty, p, s, g),
    full: dividerVolts(ohms.full, p, s, g),
  });
  const stated = predict(pullUp, supply, ground);
  const span = Math.abs(stated.full - stated.empty);
  const off = (e: { empty: number; full: number }) =>
    Math.max(Math.abs(e.empty - measured.empty), Math.abs(e.full - measured.full)) / span;
  const answer = (signature: MeasuredEnds["signature"], says: string): MeasuredEnds => ({
    emptyVolts: measured.empty,
    fullVolts: measured.full,
    predictedEmptyVolts: stated.empty,
    predictedFullVolts: stated.full,
    signature,
    says,
  });
  const pair = `${fixed(measured.empty, 2)} V empty and ${fixed(measured.full, 2)} V full`;
  const said = `${fixed(stated.empty, 2)} and ${fixed(stated.full, 2)} V`;
  if (off(stated) <= near) return answer("as-stated", `The run ends at ${pair}, as the circuit predicts.`);
  const low = Math.min(stated.empty, stated.full);
  const high = Math.max(stated.empty, stated.full);
  const inside = (v: number) => v >= low - near * span && v <= high + near * span;
  const sameWay = (measured.full - measured.empty) * (stated.full - stated.empty) > 0;
  if (!whole && sameWay && Math.abs(measured.empty - stated.empty) <= near * span && inside(measured.full))
    return answer(
      "part-travel",
      `The run starts where the circuit predicts and ends at ${fixed(measured.full, 2)} V, before the tank is full.`,
    );
  if (off({ empty: stated.full, full: stated.empty }) <= 2 * near)
    return answer("sender-reversed", `The run ends at ${pair}, the stated ends exchanged: the sender is reversed.`);
  const swapped = {
    empty: (supply * pullUp) / (ohms.empty + pullUp),
    full: (supply * pullUp) / (ohms.full + pullUp),
  };
  if (off(swapped) <= near)
    return answer(
      "wires-swapped",
      `The run ends at ${pair}: the sender sits where the pull-up should be, two wires are swapped.`,
    );
  if (Math.max(Math.abs(measured.empty), Math.abs(measured.full)) < 0.02 * supply)
    return answer("pull-up-missing", `The input stays near 0 V over the whole run: the pull-up is missing.`);
  // One free figure each, fitted to both ends; two ends leave one to check it by.
  const fits: { signature: MeasuredEnds["signature"]; misfit: number; cause: string }[] = [];
  const search = (from: number, to: number, log: boolean, make: (x: number) => { empty: number; full: number }) => {
    const at = (share: number) => (log ? from * (to / from) ** share : from + (to - from) * share);
    const miss = (share: number) => off(make(at(share)));
    let best = 0;
    for (let i = 0; i <= 800; i++) if (miss(i / 800) < miss(best / 800)) best = i;
    // Between the two neighbours of the best node the misfit has one valley: thirds of it, to well under the digits that are told.
    let [low, high] = [Math.max(0, best - 1) / 800, Math.min(800, best + 1) / 800];
    for (let i = 0; i < 40; i++) {
      const third = (high - low) / 3;
      if (miss(low + third) < miss(high - third)) high -= third;
      else low += third;
    }
    const x = at((low + high) / 2);
    return { x, misfit: off(make(x)) };
  };
  const p = search(pullUp / 20, pullUp * 20, true, (x) => predict(x, supply, ground));
  fits.push({
    signature: "pull-up-differs",
    misfit: p.misfit,
    cause: `a pull-up of ${fixed(p.x, 0)} Ω would explain it, not the stated ${fixed(pullUp, 0)} Ω`,
  });
  const s = search(supply / 4, supply * 4, true, (x) => predict(pullUp, x, ground));
  fits.push({
    signature: "supply-differs",
    misfit: s.misfit,
    cause: `a supply of ${fixed(s.x, 2)} V would explain it, not the stated ${fixed(supply, 2)} V`,
  });
  const g = search(-0.1 * supply, 0.5 * supply, false, (x) => predict(pullUp, supply, x));
  fits.push({
    signature: "bad-ground",
    misfit: g.misfit,
    cause:
      g.x >= ground
        ? `a sender ground that stands ${fixed(g.x, 2)} V too high would explain it`
        : `a sender ground that stands ${fixed(-g.x, 2)} V under the converter’s would explain it`,
  });
  // Contact and lead resistance add to the sender's ohms, at both ends alike.
  const most_ohm = Math.max(ohms.empty, ohms.full);
  const w = search(0, most_ohm, false, (x) => {
    const at = (r: number) => dividerVolts(r + x, pullUp, supply, ground);
    return { empty: at(ohms.empty), full: at(ohms.full) };
  });
  fits.push({
    signature: "ohms-in-the-wire",
    misfit: w.misfit,
    cause: `${fixed(w.x, w.x < 10 ? 1 : 0)} Ω more in the sender’s wire or contacts would explain it`,
  });
  fits.sort((a, b) => a.misfit - b.misfit);
  // Stated ohms hold to some percent: a second cause that meets the ends within that is not told from the first.
  const rival =
    fits[1]!.misfit <= near
      ? `; so would ${fits[1]!.cause.replace(" would explain it", "")}: two ends do not tell`
      : "";
  // A tank that was not quite dry or not quite full ends inside the stated travel too: two ends cannot tell that from a fault.
  if (sameWay && inside(measured.empty) && inside(measured.full))
    return answer(
      "inside-travel",
      `The run ends at ${pair}, inside the ${said} that the circuit predicts for the sender’s own ends: the fuel did not reach them, or the float meets the tank first.${fits[0]!.misfit <= near ? ` Or ${fits[0]!.cause}${rival === "" ? ": two ends do not tell" : rival}.` : ""}`,
    );
  if (fits[0]!.misfit <= near)
    return answer(
      fits[0]!.signature,
      `The run ends at ${pair} where ${said} were predicted: ${fits[0]!.cause}${rival}.`,
    );
  const most = dividerVolts(Math.max(ohms.empty, ohms.full), pullUp, supply, ground);
  if (
    Math.max(measured.empty, measured.full) > most + 0.25 * span &&
    Math.abs(measured.full - measured.empty) > 1.2 * span
  )
    return answer(
      "converter-on-pull-up",
      `The run ends at ${pair}, further than the stated sender can pull: it looks like a sender with its own converter.`,
    );
  return answer(
    "sender-differs",
    `The run ends at ${pair} where ${said} were predicted: the sender in the tank does not move over the stated ohms. The curve goes by the run.`,
  );
}
