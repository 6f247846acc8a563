/**
 * The hand on the page: what is pressed and then goes, because its own answer takes it away (a choice taken back, a file taken out), leaves the
 * focus nowhere, and a keyboard begins at the top of the sheet again. It is then put on the finding of that leaf, which is what has changed.
 */

/** Watches the whole sheet; only what goes from under the hand is acted on. */
export function keepFocus(): void {
  let held: { element: Element; leaf: string } | null = null;
  document.addEventListener("focusin", ({ target }) => {
    const leaf = target instanceof Element ? target.closest("#sheet section[id]")?.id : undefined;
    held = leaf ? { element: target as Element, leaf } : null;
  });
  document.addEventListener("focusout", ({ target }) => {
    // Left by the reader, not taken away: what is taken away is not on the page any more by then.
    setTimeout(() => {
      if (held?.element === target && held.element.isConnected && document.activeElement !== target) held = null;
    });
  });
  new MutationObserver(() => {
    if (!held || held.element.isConnected) return;
    const { leaf } = held;
    held = null;
    if (document.activeElement && document.activeElement !== document.body) return;
    const section = document.getElementById(leaf);
    const place = section?.querySelector<HTMLElement>(".finding, .folded-open button") ?? null;
    if (!place) return;
    if (!place.matches("button")) place.tabIndex = -1;
    place.focus({ preventScroll: true });
  }).observe(document.body, { childList: true, subtree: true });
}
