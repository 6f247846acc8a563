/** The invented example jobs that come with the page. */

import { hashOf } from "../notebook/checked";
import { emptyNotebook } from "../notebook/notebook";
import type { OpenNotebook } from "../notebook/open-notebook";
import type { JobInput } from "../pipeline/job";

const files = import.meta.glob<string>(["../../datasets/*/*.{csv,json,md}", "!../../datasets/*/truth.json"], {
  query: "?url",
  import: "default",
});

const placeOf = (path: string) => /datasets\/([^/]+)\/([^/]+)$/.exec(path);

export const exampleNames = [...new Set(Object.keys(files).flatMap((p) => placeOf(p)?.[1] ?? []))].sort();

async function bytesOf(name: string, file: string): Promise<Uint8Array | null> {
  const entry = Object.entries(files).find(([p]) => placeOf(p)?.[1] === name && placeOf(p)?.[2] === file);
  if (!entry) return null;
  const answer = await fetch(await entry[1]());
  if (!answer.ok) throw new Error(`the example’s ${file} could not be fetched`);
  return new Uint8Array(await answer.arrayBuffer());
}

/** Opens an example in place of the open notebook: one step of undo. */
export async function loadExample(book: OpenNotebook, name: string): Promise<void> {
  if (!exampleNames.includes(name)) throw new Error(`There is no example ${name}.`);
  const [job, fill, drive, about] = await Promise.all(
    ["job.json", "fill.csv", "drive.csv", "about.md"].map((f) => bytesOf(name, f)),
  );
  const text = (b: Uint8Array | null | undefined) => (b ? new TextDecoder().decode(b) : "");
  const input = (job ? JSON.parse(text(job)) : {}) as JobInput;
  const words = text(about)
    .split("\n")
    .filter((l) => l.trim() && !l.startsWith("#"));
  const drives = drive ? [{ name: "drive.csv", sha256: await book.holdDrive(drive), bytes: drive.length }] : [];
  await book.replace(
    {
      ...emptyNotebook,
      title: input.name ?? name,
      // How it was made is for those who work on it; what it is stands here.
      about: (words[0] ?? "")
        .replace(/[*`]/g, "")
        .replace(/; made by [^.]*/, "")
        .trim()
        .slice(0, 400),
      job: input,
      fills: fill ? [{ name: "fill.csv", kind: "fill", bytes: fill, sha256: await hashOf(fill) }] : [],
      drives,
    },
    `open the example ${name}`,
  );
}
