/** The way to where something is asked: it is opened, brought in sight, and its first field has the focus. */

/** @param group of the job's fields, by its title. */
export function goTo(leaf: string, group?: string): void {
  const part = group && document.querySelector<HTMLDetailsElement>(`#${leaf} details[data-group="${group}"]`);
  if (part) part.open = true;
  const place = part || document.getElementById(leaf);
  place?.scrollIntoView();
  // A field to fill, not the way to fold the leaf away.
  const asked = place?.querySelector(".evidence > .main") ?? place;
  const first = (of: string) => asked?.querySelector<HTMLElement>(of);
  (first(":is(input, select, textarea):not(details:not([open]) *)") ?? first("button, summary"))?.focus();
}
