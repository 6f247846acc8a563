/** Said: prose with figures set in. A stage says it once; page and print write its volumes in the job's unit, command line and published analysis in litres. */
import { capital as capitalText } from "./format";
import { type Quantity, quantityInUnit, type VolumeWords } from "./quantity";

export type Phrase = string | Quantity;

/** Plain words, or words with quantities among them. */
export type Said = string | Prose;
export interface Prose {
  phrases: Phrase[];
}

export const isProse = (value: unknown): value is Prose =>
  typeof value === "object" && value !== null && Array.isArray((value as Prose).phrases);

export const phrasesOf = (said: Said): Phrase[] => (typeof said === "string" ? [said] : said.phrases);

/** Words as a template: what has no quantity in it stays a string. */
export const say = (words: TemplateStringsArray, ...set: (Said | Quantity | number)[]): Said =>
  joined(words.flatMap((w, i) => (i < set.length ? [w, set[i]!] : [w])));

/** One after the other. */
export function joined(parts: (Said | Quantity | number)[], between = ""): Said {
  const phrases: Phrase[] = [];
  const put = (p: Phrase) => {
    const last = phrases.at(-1);
    if (typeof p !== "string") phrases.push(p);
    else if (typeof last === "string") phrases[phrases.length - 1] = last + p;
    else if (p !== "") phrases.push(p);
  };
  parts.forEach((part, i) => {
    if (i > 0) put(between);
    if (typeof part === "number") put(String(part));
    else if (isProse(part)) part.phrases.forEach(put);
    else put(part);
  });
  return phrases.some((p) => typeof p !== "string") ? { phrases } : ((phrases[0] as string | undefined) ?? "");
}

/** With a large letter in front: a clause that begins a sentence. */
export function capital(said: Said): Said {
  if (typeof said === "string") return capitalText(said);
  const [first, ...rest] = said.phrases;
  return { phrases: typeof first === "string" ? [capitalText(first), ...rest] : said.phrases };
}

/** As it is published: in litres, with the spaces that it was published with. */
export const published = (said: Said): string =>
  phrasesOf(said)
    .map((p) => (typeof p === "string" ? p : p.plainSpaces ? p.text.replaceAll("\u00a0", " ") : p.text))
    .join("");

/** As it is read: volumes in the unit. */
export const saidIn = (said: Said, volume: VolumeWords): string =>
  volume.litres === 1
    ? published(said)
    : phrasesOf(said)
        .map((p) => (typeof p === "string" ? p : quantityInUnit(p, volume).text))
        .join("");

/** All phrases in the unit. */
export const phrasesInUnit = (phrases: Phrase[], volume: VolumeWords): Phrase[] =>
  phrases.map((p) => (typeof p === "string" ? p : quantityInUnit(p, volume)));
