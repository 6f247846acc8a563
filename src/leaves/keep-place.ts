/**
 * The place in the book: a page that is loaded again opens where it was read, with what stood half written in a field. A phone beside the
 * tank drops a page that lies in the dark; the browser's own way back counts pixels of a page that has no answers yet, and lands anywhere.
 */
import type { OpenNotebook } from "../notebook/open-notebook";

interface Place {
  /** Section of the sheet that stood at the top of the window, and how far under its edge. */
  section: string;
  top: number;
  /** The field that was written in: its section, its name, which of those with that name, and its text. */
  field: { section: string; name: string; nth: number; text: string; top: number } | null;
}

type Field = HTMLInputElement | HTMLTextAreaElement;
const key = "fillbook-place";
/** After so long without a change of height the page has all its answers. */
const quiet_ms = 2_000;
/** Part of the window's height from its top in which what is read stands. */
const readAt = 0.25;

const isField = (e: EventTarget | null): e is Field =>
  e instanceof HTMLTextAreaElement || (e instanceof HTMLInputElement && e.type === "text");
const nameOf = (e: Field): string => e.getAttribute("aria-label") ?? e.labels?.[0]?.textContent?.trim() ?? "";
const sections = (): HTMLElement[] => [...document.querySelectorAll<HTMLElement>("#sheet section[id]")];
const fieldsIn = (section: Element, name: string): Field[] =>
  [...section.querySelectorAll("input, textarea")].filter(isField).filter((f) => nameOf(f) === name);

function placeNow(): Place | null {
  const line = readAt * window.innerHeight;
  const read = sections().findLast((s) => s.getBoundingClientRect().top <= line);
  const active = document.activeElement;
  const within = isField(active) ? active.closest<HTMLElement>("#sheet section[id]") : null;
  if (!read && !within) return null;
  return {
    section: read?.id ?? "",
    top: read?.getBoundingClientRect().top ?? 0,
    field:
      within && isField(active)
        ? {
            section: within.id,
            name: nameOf(active),
            nth: fieldsIn(within, nameOf(active)).indexOf(active),
            text: active.value,
            top: active.getBoundingClientRect().top,
          }
        : null,
  };
}

/** Writes down the place when the page is left or put away, and takes over what stands half written: a field tells it only when it is left. */
function keepPlace(book: OpenNotebook): void {
  let taken = "";
  const note = ({ target }: Event) => {
    if (isField(target)) taken = target.value;
  };
  document.addEventListener("focusin", note);
  document.addEventListener("change", note);
  const leave = () => {
    const place = placeNow();
    try {
      if (place) sessionStorage.setItem(key, JSON.stringify(place));
      else sessionStorage.removeItem(key);
    } catch {
      // A browser that refuses its store: the page opens at its head.
    }
    const active = document.activeElement;
    if (isField(active) && active.value !== taken) active.dispatchEvent(new Event("change", { bubbles: true }));
    book.leave();
  };
  document.addEventListener("visibilitychange", () => document.visibilityState === "hidden" && leave());
  window.addEventListener("pagehide", leave);
}

function lastPlace(): Place | null {
  try {
    const text = sessionStorage.getItem(key);
    sessionStorage.removeItem(key);
    return text ? (JSON.parse(text) as Place) : null;
  } catch {
    return null;
  }
}

/** The field that was written in, opened to sight; null while it is not there yet. */
function fieldOf({ field }: Place): Field | null {
  const section = field && document.getElementById(field.section);
  const found = section ? (fieldsIn(section, field.name)[field.nth] ?? null) : null;
  for (let e = found?.parentElement; e; e = e.parentElement) if (e instanceof HTMLDetailsElement) e.open = true;
  return found;
}

/** Holds the place while answers come in above it, until the reader moves. */
function goBack(place: Place): void {
  let hand: Field | null = null;
  const hold = () => {
    // A leaf that gets its answer may draw its fields anew.
    if (!hand?.isConnected && place.field) {
      hand = fieldOf(place);
      if (hand) {
        if (hand.value !== place.field.text) {
          hand.value = place.field.text;
          hand.dispatchEvent(new Event("change", { bubbles: true }));
        }
        hand.focus({ preventScroll: true });
      }
    }
    const at = hand ?? document.getElementById(place.section);
    const top = hand ? place.field!.top : place.top;
    if (at) window.scrollBy(0, at.getBoundingClientRect().top - top);
    clearTimeout(quiet);
    quiet = setTimeout(stop, quiet_ms);
  };
  let quiet: ReturnType<typeof setTimeout> | undefined;
  const watch = new ResizeObserver(hold);
  const moves = ["wheel", "touchstart", "pointerdown", "keydown"] as const;
  const stop = () => {
    clearTimeout(quiet);
    watch.disconnect();
    for (const m of moves) window.removeEventListener(m, stop);
  };
  for (const m of moves) window.addEventListener(m, stop, { passive: true });
  watch.observe(document.body);
  hold();
}

/** @param opened whether the notebook that was open last stands on the page again. */
export function followPlace(book: OpenNotebook, opened: Promise<boolean>): void {
  history.scrollRestoration = "manual";
  const place = lastPlace();
  keepPlace(book);
  if (place) void opened.then((same) => same && goBack(place));
}
