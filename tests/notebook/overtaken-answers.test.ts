import { expect, test } from "vitest";
import { ready, waiting } from "../../src/answer";
import { createOpenNotebook } from "../../src/notebook/open-notebook";
import type { FromWorker, ToWorker } from "../../src/worker";

/** A worker that says nothing by itself: what it was told is kept, what it answers is given by hand. */
function silentWorker() {
  const told: ToWorker[] = [];
  const worker = {
    postMessage: (message: ToWorker) => void told.push(message),
    onmessage: null as ((event: MessageEvent) => void) | null,
    onerror: null,
  };
  const answer = (data: FromWorker) => worker.onmessage?.({ data } as MessageEvent);
  const revisions = () => told.flatMap((m) => (m.say === "compute" ? [m.revision] : []));
  return { worker: worker as unknown as Pick<Worker, "postMessage" | "onmessage" | "onerror">, answer, revisions };
}

const change = (capacity_L: number) => ({
  edit: "job" as const,
  path: ["tank", "capacity_L"],
  value: capacity_L,
  label: "the capacity",
});

test("an answer that a newer edit overtook is kept, so that “the same as before” means what the page holds", () => {
  const { worker, answer, revisions } = silentWorker();
  const book = createOpenNotebook(worker);
  book.edit(change(50));
  book.edit(change(60));
  const [first, second] = revisions() as [number, number];
  const value = { name: "sixty" };
  answer({ say: "answer", revision: first, stage: "circuit", answer: ready(value) });
  expect(book.stale("circuit"), "an overtaken answer is not current").toBe(true);
  answer({ say: "answer", revision: second, stage: "circuit", answer: waiting });
  expect(book.answers.circuit()).toMatchObject({ state: "ready", value });
  expect(book.stale("circuit")).toBe(false);
});

test("an overtaken “done” never passes for the present analysis", () => {
  const { worker, answer, revisions } = silentWorker();
  const book = createOpenNotebook(worker);
  book.edit(change(50));
  book.edit(change(60));
  const [first, second] = revisions() as [number, number];
  answer({ say: "done", revision: first, analysis: { old: true } });
  expect(book.analysis()).toBeNull();
  answer({ say: "done", revision: second, analysis: { old: false } });
  expect(book.analysis()).toEqual({ old: false });
});
