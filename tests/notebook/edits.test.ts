import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { apply, type Edit, nameOf } from "../../src/notebook/edits";
import { emptyNotebook, type Notebook } from "../../src/notebook/notebook";
import { anyEdit } from "./any-edit";

const at = "2026-01-02T03:04:05.000Z";
const freeze = <T>(value: T): T => {
  if (typeof value === "object" && value !== null && !ArrayBuffer.isView(value) && !Object.isFrozen(value)) {
    Object.freeze(value);
    for (const v of Object.values(value)) freeze(v);
  }
  return value;
};

describe("an edit", () => {
  test("of a step keeps the choice, its reason and its time, and has a name that reads alone", () => {
    const edit: Edit = {
      edit: "step",
      run: 0,
      step: 6,
      choice: { treat: "put-in", amount_L: 4.1, reason: "the can stood empty" },
    };
    const after = apply(emptyNotebook, edit, at);
    expect(after.choices.steps["0:6"]).toEqual({ treat: "put-in", amount_L: 4.1, reason: "the can stood empty" });
    expect(after.decisions).toEqual([{ what: "put 4.1 L in at pour 6", why: "the can stood empty", at }]);
    expect(nameOf({ ...edit, choice: null })).toBe("leave step 6 to the rule");
  });

  test("of a job field leaves the other fields the very objects they were", () => {
    const before: Notebook = { ...emptyNotebook, job: { tank: { capacity_L: 50 }, sender: { kind: "float-arm" } } };
    const after = apply(before, { edit: "job", path: ["tank", "capacity_L"], value: 58, label: "the capacity" }, at);
    expect(after.job.tank).toEqual({ capacity_L: 58 });
    expect(after.job.sender).toBe(before.job.sender);
  });

  test("along a path that would reach into every object is refused", () => {
    for (const key of ["__proto__", "constructor", "prototype"])
      expect(() => apply(emptyNotebook, { edit: "job", path: [key, "x"], value: 1, label: "" }, at)).toThrow(
        "cannot be set",
      );
    expect("x" in {}).toBe(false);
  });

  test("replaces typed steps where they stood among the runs", () => {
    const file = (sha256: string) => ({ name: "f.csv", kind: "fill" as const, sha256, bytes: new Uint8Array([1]) });
    const before = { ...emptyNotebook, fills: [file("a"), file("b"), file("c")] };
    const after = apply(before, { edit: "replace file", before: "b", file: file("d"), label: "write pour 3" }, at);
    expect(after.fills.map((f) => f.sha256)).toEqual(["a", "d", "c"]);
  });

  test("never changes the notebook it is given, so undo after any edits gives the same notebook", () => {
    fc.assert(
      fc.property(fc.array(anyEdit, { maxLength: 12 }), (edits) => {
        const states: Notebook[] = [freeze(structuredClone(emptyNotebook))];
        const copies = [structuredClone(states[0])];
        for (const e of edits) {
          const next = freeze(apply(states[states.length - 1]!, e, at));
          states.push(next);
          copies.push(structuredClone(next));
          expect(nameOf(e)).not.toBe("");
        }
        // Going back is taking the object before: each must still be what it was.
        states.forEach((s, i) => {
          expect(s).toEqual(copies[i]);
        });
      }),
      { seed: 11, numRuns: 200 },
    );
  });
});
