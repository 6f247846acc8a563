/** What a change did, in words to be heard. */

export interface Said {
  verdict: string;
  /** Finding of each leaf by its name; for one that has none what keeps it. */
  leaves: Record<string, string>;
}

/** What to say aloud: fifteen leaves that each told their change would be heard by nobody. */
export function changesToSay(before: Said, now: Said, leafInHand: string | null): string {
  const of = (said: Said) => (leafInHand ? said.leaves[leafInHand] : undefined);
  const leaf = of(now);
  return [
    ...(leaf && leaf !== of(before) ? [leaf] : []),
    ...(now.verdict !== before.verdict ? [now.verdict] : []),
  ].join(" ");
}
