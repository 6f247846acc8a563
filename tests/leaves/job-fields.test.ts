/** Whatever job.json can say can be said on the page. */
import { describe, expect, test } from "vitest";
import { z } from "zod";
import { enginePairFields, groups, undoName } from "../../src/leaves/job-fields";
import { jobInputSchema } from "../../src/pipeline/job";

interface Node {
  properties?: Record<string, Node>;
  anyOf?: Node[];
  items?: Node;
  enum?: string[];
}
const schema = z.toJSONSchema(jobInputSchema) as Node;
const objectIn = (node: Node): Node | undefined =>
  node.properties ? node : node.anyOf?.map(objectIn).find((n) => n !== undefined);
const enumIn = (node: Node): string[] | undefined =>
  node.enum ?? node.anyOf?.map(enumIn).find((n) => n !== undefined) ?? (node.items && enumIn(node.items));
function* leavesOf(node: Node, path = ""): Generator<[string, Node]> {
  const object = objectIn(node);
  if (!object) yield [path, node];
  else
    for (const [key, child] of Object.entries(object.properties!))
      yield* leavesOf(child, path ? `${path}.${key}` : key);
}
const inSchema = new Map(leavesOf(schema));
const onPage = [...groups.flatMap((g) => g.fields), ...enginePairFields];

describe("fields of the job", () => {
  test("every field of job.json is asked for on the page, and nothing else", () => {
    expect(inSchema.size).toBeGreaterThan(60);
    expect(onPage.map((f) => f.path).sort()).toEqual([...inSchema.keys()].sort());
  });

  test("with every choice that it allows", () => {
    for (const field of onPage) {
      const choices = (field.ticks ?? field.options)?.map((o) => o.value).filter((v) => v !== "true" && v !== "false");
      expect([field.path, [...(choices ?? [])].sort()]).toEqual([
        field.path,
        [...(enumIn(inSchema.get(field.path)!) ?? [])].sort(),
      ]);
    }
  });
});

test("undo tells the same short label of two settings apart, and calls a tick by what was ticked", () => {
  const fields = groups.flatMap((g) => g.fields);
  const at = (path: string) => fields.find((f) => f.path === path)!;
  expect(undoName(at("device.smoothing.most"))).not.toBe(undoName(at("device.deadband.most")));
  expect(undoName(at("device.deadband.most"))).toBe("deadband typed in, at most");
  expect(undoName(at("tank.length_mm"))).toBe("length");
  expect(undoName(at("device.has"), "refuel-rule")).toBe("whether it has a rule for refuelling");
  const names = groups.map((g) => g.fields.map((f) => undoName(f)));
  for (const inGroup of names) expect(new Set(inGroup).size).toBe(inGroup.length);
});
