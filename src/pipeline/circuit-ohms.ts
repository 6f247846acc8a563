/** A run read in ohms: its ends held against the sender's stated ones, without any circuit between. */
import { fixed } from "../format";
import type { Ends } from "./circuit-ends";

export interface MeasuredOhms {
  emptyOhms: number;
  fullOhms: number;
  signature: "as-stated" | "part-travel" | "inside-travel" | "sender-reversed" | "ohms-in-the-wire" | "sender-differs";
  says: string;
}

/** Ends count as explained within this share of the stated travel. Named default, no source; the same as for ends in volts. */
const near = 0.04;

/** What a difference of both ends comes from: exchanged ends, the same ohms more at both, another sender, or a run that did not go over the whole travel. */
export function compareOhms(ends: Ends, stated: { empty: number; full: number }): MeasuredOhms {
  const { empty, full } = ends;
  const span = Math.abs(stated.full - stated.empty);
  const is = (a: number, b: number, times = 1) => Math.abs(a - b) <= times * near * span;
  const answer = (signature: MeasuredOhms["signature"], says: string) => ({
    emptyOhms: empty,
    fullOhms: full,
    signature,
    says,
  });
  const pair = `The run ends at ${fixed(empty, 1)} Ω empty and ${fixed(full, 1)} Ω full`;
  const said = `${fixed(stated.empty, 0)} and ${fixed(stated.full, 0)} Ω`;
  if (is(empty, stated.empty) && is(full, stated.full))
    return answer("as-stated", `${pair}, as stated for the sender.`);
  if (is(empty, stated.full, 2) && is(full, stated.empty, 2))
    return answer("sender-reversed", `${pair}, the stated ends exchanged: the sender is reversed.`);
  const [low, high] = [Math.min(stated.empty, stated.full), Math.max(stated.empty, stated.full)];
  const inside = (r: number) => r >= low - near * span && r <= high + near * span;
  const sameWay = (full - empty) * (stated.full - stated.empty) > 0;
  if (!ends.whole && sameWay && is(empty, stated.empty) && inside(full))
    return answer("part-travel", `${pair}, before the tank is full.`);
  if (sameWay && inside(empty) && inside(full))
    return answer(
      "inside-travel",
      `${pair}, inside the ${said} stated for the sender’s own ends: the fuel did not reach them, or the float meets the tank first.`,
    );
  const more = (empty + full - stated.empty - stated.full) / 2;
  if (more > 0 && is(empty - stated.empty, more) && is(full - stated.full, more))
    return answer(
      "ohms-in-the-wire",
      `${pair} where ${said} are stated, ${fixed(more, more < 10 ? 1 : 0)} Ω more at both: the meter’s leads, the sender’s wire or its contacts.`,
    );
  return answer(
    "sender-differs",
    `${pair} where ${said} are stated: the sender in the tank does not move over the stated ohms. The curve goes by the run.`,
  );
}
