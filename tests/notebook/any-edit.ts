/** Any edit that the page could make, for the laws. */
import fc from "fast-check";
import type { Edit } from "../../src/notebook/edits";

const words = fc.string({ unit: "binary", maxLength: 20 });
const sha = fc.string({ unit: fc.constantFrom(..."0123456789abcdef"), minLength: 64, maxLength: 64 });
const leaf = fc.constantFrom("job", "curve", "noise", "table");
const file = fc.record({
  name: words,
  kind: fc.constantFrom("fill" as const, "drain" as const),
  bytes: fc.uint8Array({ maxLength: 60 }),
  sha256: sha,
});

export const anyEdit: fc.Arbitrary<Edit> = fc.oneof(
  fc.record({ edit: fc.constant("title" as const), title: words }),
  fc.record({ edit: fc.constant("about" as const), about: words }),
  fc.record({
    edit: fc.constant("job" as const),
    path: fc.constant<string[]>(["tank", "capacity_L"]),
    value: fc.double({ min: 1, max: 500, noNaN: true }),
    label: words,
  }),
  fc.record({ edit: fc.constant("add file" as const), file }),
  fc.record({
    edit: fc.constant("add drive" as const),
    drive: fc.record({ name: words, sha256: sha, bytes: fc.nat() }),
  }),
  fc.record({ edit: fc.constant("remove file" as const), sha256: sha }),
  fc.record({ edit: fc.constant("replace file" as const), before: fc.option(sha), file, label: fc.constant("write") }),
  fc.record({
    edit: fc.constant("read file" as const),
    sha256: sha,
    reading: fc.option(
      fc.record({ delimiter: fc.constantFrom(",", ";"), decimal: fc.constantFrom("." as const, "," as const) }),
    ),
  }),
  fc.record({
    edit: fc.constant("step" as const),
    run: fc.nat(2),
    step: fc.nat(20),
    choice: fc.option(fc.record({ treat: fc.constantFrom("keep" as const, "set-aside" as const), reason: words })),
  }),
  fc.record({
    edit: fc.constant("choose" as const),
    key: fc.constant("table" as const),
    value: fc.record({ points: fc.option(fc.integer({ min: 2, max: 30 })) }),
    label: fc.constant("take other points"),
  }),
  fc.record({ edit: fc.constant("note" as const), leaf, text: words }),
  fc.record({ edit: fc.constant("loose note" as const), id: fc.uuid(), after: leaf, text: fc.option(words) }),
  fc.record({ edit: fc.constant("fold" as const), leaf, folded: fc.boolean() }),
  fc.record({ edit: fc.constant("hand over" as const), settings: fc.record({ n: fc.nat() }) }),
);
