import { describe, expect, it, test } from "vitest";
import { makeJob } from "../../datasets/world/job";
import { namedTwice } from "../../src/cli/twice-named";
import { createRandom, type Random } from "../../src/math/random";

describe("a field that is named twice", () => {
  test("is found with its path and the line of its second name", () => {
    const text = '{\n  "tank": { "capacity_L": 60 },\n  "pour": {\n    "size_L": 4,\n    "size_L": 5\n  }\n}';
    expect(namedTwice(text)).toEqual({ path: "pour.size_L", line: 5 });
    expect(namedTwice('{"a": [{"b": 1}, {"b": 1, "c": 2, "b": 3}]}')).toEqual({ path: "a.1.b", line: 1 });
    expect(namedTwice('{"a": 1, "\\u0061": 2}')).toEqual({ path: "a", line: 1 });
  });

  test("is not seen where a text only looks like one, or the same name stands in another object", () => {
    expect(namedTwice('{"a": "a\\": 1", "b": ["b", "b"], "c": {"a": 1, "b": {"a": 2}}}')).toBeNull();
    expect(namedTwice('{"name": "say: \\"name\\": x", "note": "{ \\"name\\": 1 }"}')).toBeNull();
    for (const text of ["null", "3", '"a"', "[]", "{}", '[{"a":1},{"a":1}]']) expect(namedTwice(text)).toBeNull();
    for (let seed = 1; seed <= 5; seed++) expect(namedTwice(JSON.stringify(makeJob(seed).job, null, 2))).toBeNull();
  });
});

/** Any JSON value; names and texts with marks in them that could mislead. */
function anyValue(random: Random, depth: number): unknown {
  const kind = random.below(depth > 3 ? 3 : 5);
  const word = () => Array.from({ length: 1 + random.below(4) }, () => 'ab":{}[],\\\n'[random.below(10)]).join("");
  if (kind === 0) return random.normal();
  if (kind === 1) return word();
  if (kind === 2) return random.uniform() < 0.5 ? null : true;
  const items = Array.from({ length: random.below(4) }, () => anyValue(random, depth + 1));
  return kind === 3 ? items : Object.fromEntries(items.map((v) => [word(), v]));
}

it("what was written from an object has none, and with one name put in again it has", () => {
  const random = createRandom(11);
  for (let k = 0; k < 300; k++) {
    const value = { first: anyValue(random, 0), last: anyValue(random, 0) };
    const text = JSON.stringify(value, null, random.below(3));
    expect(namedTwice(text), text).toBeNull();
    expect(namedTwice(text.replace(/\}$/, ',"first":0}'))?.path, text).toBe("first");
  }
});
