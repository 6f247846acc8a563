import { describe, expect, test } from "vitest";
import type { Choices } from "../../src/pipeline/choices";
import { driveLogFigure } from "../../src/pipeline/figures/drive-log";
import { readRecording } from "../../src/pipeline/recording";
import { textOf } from "../../src/pipeline/words/all";
import { driveLogFinding, driveLogWorking } from "../../src/pipeline/words/drive-log";
import { circuit, curve, driveText, job, log, readLogs } from "./driven-log";

describe("a part of a log", () => {
  /** The clock of this log says 1000 s at its start; it stands still from 200 to 300 s. */
  const text = driveText({ header: "time_s,sender_V,speed_kmh", cells: (_i, t, v) => [1000 + t, v] })
    .split("\n")
    .map((line, i) => (i === 0 ? line : `${line},${i / 20 >= 200 && i / 20 < 300 ? 0 : 50}`))
    .join("\n");
  const recording = readRecording(
    { name: "late.csv", kind: "drive", bytes: new TextEncoder().encode(text), sha256: "aa" },
    null,
  );
  if (recording.state !== "ready") throw new Error("the test's own file is unreadable");
  const counted = (parts: Choices["driveParts"]) => {
    const answer = readLogs([recording.value], curve, circuit, job, parts);
    if (answer.state !== "ready") return answer;
    return { state: answer.state, log: answer.value[0]!, says: textOf(driveLogFinding(answer.value).sentence) };
  };
  const whole = counted({});
  if (!("log" in whole)) throw new Error("not ready");

  test("a part outside the log is told with what the log lasts, and a short one in seconds", () => {
    const outside = readLogs([recording.value], curve, circuit, job, { aa: { from_s: 100_000, to_s: 100_001 } });
    if (outside.state !== "stuck") throw new Error("should be stuck");
    expect(outside.issue.code).toBe("drive-log/part-outside");
    expect(outside.issue.says).toBe(
      "The part of late.csv that was chosen, 100000 s to 100001 s, begins after its end: the log lasts 10.0 min.",
    );
    const short = readLogs([recording.value], curve, circuit, job, { aa: { from_s: 60, to_s: 65 } });
    if (short.state !== "stuck") throw new Error("should be stuck");
    expect(short.issue.says).toMatch(/^The part of late\.csv that was chosen, 60 s to 65 s, lasts 5\.0 s;/);
  });

  test("stretches and figure count from the log's start, whatever its clock says there", () => {
    const kinds = whole.log.parts.map((p) => [p.kind, Math.round(p.from_s), Math.round(p.to_s)]);
    expect(kinds).toEqual([
      ["driving", 0, 200],
      ["parked", 200, 300],
      ["driving", 300, 600],
    ]);
    const figure = driveLogFigure(whole.log)!;
    const region = figure.panels[0]!.marks.find((m) => m.kind === "region");
    expect(region).toMatchObject({ text: "parked" });
    if (region?.kind === "region") expect([region.from, region.to].map((m) => m.toFixed(1))).toEqual(["3.3", "5.0"]);
    const working = driveLogWorking([whole.log]).find((l) => l.what === "Parts of late.csv")!;
    expect(textOf(working.figures)).toMatch(/^driving 8\.3\smin, parked 100\ss$/);
    expect(whole.says).toMatch(/^late\.csv: in 10\smin/);
  });

  test("a log that stands for a third of its time says over which minutes is counted, or that it moves too little for that; a sixth goes without a word", () => {
    const standing = (seconds: number, rows = 12000) =>
      log(
        driveText({ header: "time_s,sender_V,speed_kmh", rows })
          .split("\n")
          .map((line, i) => (i === 0 ? line : `${line},${i / 20 < seconds ? 0 : 50}`))
          .join("\n"),
      );
    expect(standing(100).cautions).toEqual([]);
    expect(standing(200).cautions).toEqual(["drive-log/partly-parked note"]);
    expect(standing(555).cautions).toEqual(["drive-log/parked doubtful"]);
    expect(standing(200, 4800).cautions).toContain("drive-log/partly-parked holds-if");
  });

  test("counts what lies in it, on the same time axis, and says which part of how much it is", () => {
    const part = counted({ aa: { from_s: 300, to_s: 540 } });
    if (!("log" in part)) throw new Error("not ready");
    expect(part.log.duration_s).toBeCloseTo(240, 6);
    expect([part.log.startsAt_s, part.log.whole_s]).toEqual([300, whole.log.duration_s]);
    expect(part.log.trace.time_s[0]).toBeCloseTo(300, 6);
    expect(part.log.parts.map((p) => p.kind)).toEqual(["driving"]);
    // The burn is steady: at five minutes half of it is gone.
    expect(part.log.from_L).toBeCloseTo((whole.log.from_L + whole.log.to_L) / 2, 0);
    expect(part.says).toMatch(/^late\.csv, from 5\.0\smin to 9\.0\smin, of its 10\smin: in 4\.0\smin/);
    // Another log's part is not this one's.
    const other = counted({ bb: { from_s: 300, to_s: 540 } });
    expect("log" in other && other.log.rows).toBe(whole.log.rows);
  });

  test("to the end where no end is said; nothing in it is told as the choice, not as the file", () => {
    const rest = counted({ aa: { from_s: 500, to_s: null } });
    expect("log" in rest && Math.round(rest.log.duration_s)).toBe(100);
    const none = counted({ aa: { from_s: 900, to_s: 1000 } });
    expect(none.state === "stuck" && "issue" in none && none.issue).toMatchObject({
      code: "drive-log/part-outside",
      remedy: "Choose a part that lies in it, or all.",
    });
  });
});
