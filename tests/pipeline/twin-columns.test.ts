/** Two columns of one file that could both be the reading or the volume: said, or asked. */

import { describe, expect, test } from "vitest";
import type { FileReading } from "../../src/pipeline/choices";
import { readRecording, type SourceFile } from "../../src/pipeline/recording";
import { published } from "../../src/said";

const answer = (text: string, kind: SourceFile["kind"] = "fill", by: FileReading | null = null) =>
  readRecording({ name: "run.csv", kind, bytes: new TextEncoder().encode(text), sha256: "0" }, by);
const said = (...given: Parameters<typeof answer>) => {
  const found = answer(...given);
  if (found.state !== "ready") throw new Error(found.state === "stuck" ? published(found.issue.says) : "waiting");
  return found.cautions.map(({ code, says, weight, condition }) => ({ code, says, weight, condition }));
};
const asked = (...given: Parameters<typeof answer>) => {
  const found = answer(...given);
  if (found.state !== "stuck") throw new Error("was read");
  return found.issue;
};
const taken = (role: string, ...given: Parameters<typeof answer>) => {
  const found = answer(...given);
  return found.state === "ready" ? [...found.value.columns.find((c) => c.role === role)!.values] : null;
};

describe("columns of the same name", () => {
  const twice = "volume_L,sender_V,sender_V\n0,0.51,0.52\n5,1.13,1.12\n10,1.55,1.53\n";

  test("that differ are asked about, with their numbers and the first line that differs", () => {
    expect(asked(twice)).toMatchObject({
      code: "recording/which-column",
      says: "run.csv: columns 2 and 3 are both called “sender_V” and differ, first in line 2 (0.51 and 0.52); nothing says which of them is the reading.",
      where: { file: "run.csv", row: 2, column: "sender_V" },
    });
    expect(asked("t s,sender,sender\n0,1,\n1,,2\n2,3,\n3,,4\n4,1,\n", "drive").says).toContain("in different lines");
  });

  test("are told apart by their number; the name alone does not do it", () => {
    expect(taken("reading", twice, "fill", { columns: { reading: "3" } })).toEqual([0.52, 1.12, 1.53]);
    expect(taken("reading", twice, "fill", { columns: { reading: "2" } })).toEqual([0.51, 1.13, 1.55]);
    expect(said(twice, "fill", { columns: { reading: "3" } })).toEqual([]);
    expect(asked(twice, "fill", { columns: { reading: "sender_V" } }).code).toBe("recording/which-column");
  });

  test("that say the same are no question: it is said which was taken", () => {
    const [caution] = said("volume_L,sender_V,sender_V\n0,0.51,0.5\n5,1.13,1.1\n10,1.55,1.6\n");
    expect(caution).toMatchObject({
      says: "run.csv: columns 2 and 3 are both called “sender_V” and say the same; column 2 is taken as the reading.",
      weight: "note",
    });
  });

  test("two clocks that go alike are the same time, also from another start; others are asked about", () => {
    const log = (step: number) =>
      `t_s,t_s,sender_V\n${[0, 1, 2, 3].map((i) => `${i},${100 + step * i},1.${i}`).join("\n")}\n`;
    expect(said(log(1), "drive").map((c) => c.weight)).toEqual(["note"]);
    expect(asked(log(2), "drive").says).toContain("first in line 3 (1 and 102)");
  });

  test("of a channel that is only a help no question is made", () => {
    const log = "t_s,sender_V,speed,speed\n0,1,5,6\n1,1.1,6,7\n2,1.2,7,8\n";
    expect(said(log, "drive")).toMatchObject([{ code: "recording/twin-columns", weight: "note" }]);
  });
});

describe("columns of other names that would do as well", () => {
  test("numbered alike: nothing tells which is meant", () => {
    expect(asked("volume_L,sender_1 (V),sender_2 (V)\n0,0.5,1\n5,1,1.4\n10,1.5,1.9\n").says).toContain(
      "“sender_1 (V)” and “sender_2 (V)” could both be the reading and differ, first in line 2 (0.5 and 1); nothing says which of them is meant",
    );
  });

  test("called differently: the result holds if the one that was taken is meant", () => {
    expect(said("t_s,sender_V,level_V\n0,1,2\n1,1.1,2.1\n2,1.2,2.1\n", "drive")).toEqual([
      {
        code: "recording/twin-columns",
        says: "run.csv: “sender_V” and “level_V” could both be the reading and differ, first in line 2 (1 and 2); “sender_V” is taken.",
        weight: "holds-if",
        condition: "the reading is “sender_V”",
      },
    ]);
  });

  test("what was poured beside its sum says the same, in another unit too; where it does not add up the line is told", () => {
    const sheet = (totals: string[], head = "total_L") =>
      `added_L,${head},sender_V\n${totals.map((t, i) => `${i === 0 ? 0 : 5},${t},${0.5 + i / 10}`).join("\n")}\n`;
    expect(said(sheet(["0", "5", "10", "15"]))).toMatchObject([{ weight: "note" }]);
    expect(said(sheet(["0.00", "1.32", "2.64", "3.96"], "total_USgal"))).toMatchObject([{ weight: "note" }]);
    expect(said(sheet(["0", "5", "10", "16", "21"]))).toMatchObject([
      {
        says: "run.csv: “added_L” and “total_L” could both be the volume and do not add up to each other from line 5 on; “added_L” is taken.",
        weight: "holds-if",
      },
    ]);
  });

  test("a column with its unit outweighs one without, and a remark, a temperature or a supply is no twin", () => {
    expect(said("volume_L,sender_V,signal\n0,0.5,3\n5,1,4\n10,1.5,5\n")).toEqual([]);
    expect(said("volume_L,sender_V,fuel temp C,battery_V\n0,0.5,30,12\n5,1,31,12\n10,1.5,32,12\n")).toEqual([]);
  });
});
