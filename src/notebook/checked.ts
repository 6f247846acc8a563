/** A notebook's text held to what it says of itself: the hashes of its files. */
import type { Answer } from "../answer";
import { changedFiles, openNotebookText } from "./file";
import type { Notebook } from "./notebook";

/** Opens a notebook's text and holds its fill runs to their hashes, as the command line does. */
export async function openChecked(text: string): Promise<Answer<Notebook>> {
  const opened = openNotebookText(text);
  if (opened.state !== "ready") return opened;
  const hashes = new Map<Uint8Array, string>();
  for (const f of opened.value.fills) hashes.set(f.bytes, await hashOf(f.bytes));
  return { ...opened, cautions: changedFiles(opened.value.fills, (bytes) => hashes.get(bytes)!) };
}

/** SHA-256 of bytes, in hexadecimal. */
export async function hashOf(bytes: Uint8Array): Promise<string> {
  const digest = await crypto.subtle.digest("SHA-256", bytes as BufferSource);
  return Array.from(new Uint8Array(digest), (b) => b.toString(16).padStart(2, "0")).join("");
}
