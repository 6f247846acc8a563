import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { FileReading } from "../../src/pipeline/choices";
import { type Recording, readRecording, type SourceFile } from "../../src/pipeline/recording";
import { published } from "../../src/said";

const file = (content: string | Uint8Array, kind: SourceFile["kind"] = "fill", name = "run.csv"): SourceFile => ({
  name,
  kind,
  bytes: typeof content === "string" ? new TextEncoder().encode(content) : content,
  sha256: "0",
});
const read = (content: string | Uint8Array, kind: SourceFile["kind"] = "fill", by: FileReading | null = null) => {
  const answer = readRecording(file(content, kind), by);
  if (answer.state !== "ready") throw new Error(answer.state === "stuck" ? published(answer.issue.says) : "waiting");
  return { ...answer.value, cautions: answer.cautions };
};
const refused = (content: string | Uint8Array, by: FileReading | null = null) => {
  const answer = readRecording(file(content), by);
  if (answer.state !== "stuck") throw new Error("was read");
  return answer.issue;
};
const column = (r: Recording, role: string) => r.columns.find((c) => c.role === role)!;
const numbers = (r: Recording, role: string) => [...column(r, role).values];

describe("what a file is", () => {
  test("roles, units and the start of the numbers are found, and said in one line", () => {
    const r = read("Yard logger\n\nvolume_L,sender_V\n0,0.51\n4,1.13\n8,1.55\n");
    expect(numbers(r, "volume")).toEqual([0, 4, 8]);
    expect(numbers(r, "reading")).toEqual([0.51, 1.13, 1.55]);
    expect([column(r, "volume").unit, column(r, "reading").unit]).toEqual(["L", "V"]);
    expect(column(r, "reading").writtenStep).toBe(0.01);
    expect([...r.line]).toEqual([4, 5, 6]);
    expect(r.decided.says).toBe(
      "Columns parted by commas, decimal point, 2 lines before the header passed over, numbers from line 4 on.",
    );
    expect(r.cautions).toEqual([]);
  });

  test("a name and its value above the header are no header, and numbers in a preamble are no data", () => {
    const r = read("Rate,50\nTank,64\nvolume,sender\nL,mV\n0,510\n4,1130\n8,1550\n12,1900\n");
    expect(r.decided).toMatchObject({ headerLine: 3, unitsLine: 4, preambleLines: 2 });
    expect(numbers(r, "reading")).toEqual([0.51, 1.13, 1.55, 1.9]);
    const block = read("Interval=\t0.001 s\nRange=\t20.0 V\n0.000\t2.1\n0.001\t2.2\n0.002\t2.3\n0.003\t2.2\n", "drive");
    expect(block.decided).toMatchObject({ headerLine: null, preambleLines: 2 });
    expect(numbers(block, "reading")).toEqual([2.1, 2.2, 2.3, 2.2]);
  });

  test("thousands parted by an apostrophe or a blank are numbers; a lone mark that may part thousands is told with both readings of it", () => {
    for (const mark of ["'", "\u2019", "\u202f", "\u00a0", "\u2009"])
      expect(numbers(read(`volume ml;sender V\n0;0.51\n5${mark}000;1.13\n10${mark}000;1.55\n`), "volume")).toEqual([
        0, 5, 10,
      ]);
    expect(numbers(read("volume ml;sender V\n0;0,51\n1.234,5;1,13\n1.234.567;1,55\n"), "volume")).toEqual([
      0, 1.2345, 1234.567,
    ]);
    const lone = read("volume ml;sender V\n0;0,51\n5.000;1,13\n10.000;1,55\n");
    expect(lone.cautions[0]).toMatchObject({
      code: "recording/mixed-decimals",
      remedy: "Write all numbers with one decimal mark; if this one parts thousands, take it out.",
    });
  });

  test("a date in a column of its own does not hide the numbers beside it", () => {
    const r = read(
      "date;time;litres;volts\n03.05.2026;10:00;0;2.501\n03.05.2026;10:04;5;2.408\n03.05.2026;10:08;10;2.307\n",
    );
    expect(numbers(r, "volume")).toEqual([0, 5, 10]);
    expect(numbers(r, "reading")).toEqual([2.501, 2.408, 2.307]);
  });

  test("a sheet that lies on its side is refused with what mends it; a short sheet with named rows is read", () => {
    expect(refused("litres,0,5,10,15,20\nvolts,2.5,2.4,2.3,2.2,2.1\n")).toMatchObject({
      code: "recording/sideways",
      says: "run.csv: the sheet lies on its side: line 1 is “litres” and line 2 “volts”, each with its numbers beside it.",
      where: { row: 1 },
    });
    const named = read(
      "step,litres,volts,supply,temperature\nstart,0,2.5,5,20\nsecond,5,2.4,5,20\nthird,10,2.3,5,20\n",
    );
    expect(numbers(named, "volume")).toEqual([0, 5, 10]);
  });

  test("decimal commas in quoted cells are read where commas part the cells too", () => {
    const r = read('"total L","sender V"\n"0,0","0,51"\n"4,5","1,13"\n9,"1,55"\n');
    expect([numbers(r, "volume"), numbers(r, "reading")]).toEqual([
      [0, 4.5, 9],
      [0.51, 1.13, 1.55],
    ]);
    const long = read(
      `"t (s)","sender V"\n${Array.from({ length: 9000 }, (_, i) => `"${i},5","1,${i % 10}3"`).join("\n")}\n`,
      "drive",
    );
    expect([long.rows, column(long, "reading").values[7]]).toEqual([9000, 1.73]);
  });

  test("row numbers beside nameless columns are neither volume nor reading", () => {
    const plain = read("0,0,0.51\n1,5,1.13\n2,10,1.55\n3,15,1.9\n");
    expect([numbers(plain, "volume"), numbers(plain, "reading")]).toEqual([
      [0, 5, 10, 15],
      [0.51, 1.13, 1.55, 1.9],
    ]);
    const half = read("nr,amount,sender_V\n1,0,0.51\n2,5,1.13\n3,10,1.55\n");
    expect(numbers(half, "volume")).toEqual([0, 5, 10]);
    expect(numbers(read("0,0.51\n1,1.13\n2,1.55\n"), "volume")).toEqual([0, 1, 2]);
  });

  test("nor are numbers that start anew in each set, or a column named for whoever or whatever was measured", () => {
    const sets = read("person,width,volume\n1,13.4,1\n2,11.0,1\n3,NA,1\n1,24.1,5\n2,25.9,5\n3,19.7,5\n");
    expect([column(sets, "volume").header, column(sets, "reading").header]).toEqual(["volume", "width"]);
    const named = read("Run,amount,signal_2\n1,0,0.05\n1,0,0.06\n2,5,0.11\n2,5,0.12\n");
    expect([column(named, "volume").header, column(named, "reading").header]).toEqual(["amount", "signal_2"]);
    // Where nothing else is left, a column that counts is taken as before.
    expect(numbers(read("Run,sender_V\n1,0.51\n2,1.13\n3,1.55\n"), "volume")).toEqual([1, 2, 3]);
  });

  test("of input and output the sensor's is what it puts out", () => {
    const rows = Array.from({ length: 30 }, (_, i) => `${i},${3.5 + (i > 15 ? 0.2 : 0)},${1.2 + 0.01 * i}`).join("\n");
    expect(column(read(`time,input,output\n${rows}\n`, "drive"), "reading").header).toBe("output");
  });

  test("a drive log's Fuel is the sender's reading unless it is in litres, and a row number taken as time is said", () => {
    const rows = Array.from({ length: 40 }, (_, i) => `${i},${(2 + (i % 7) / 100).toFixed(2)}`).join("\n");
    const fuel = read(`Time,Fuel\n${rows}\n`, "drive");
    expect([column(fuel, "reading")?.header, fuel.cautions]).toEqual(["Fuel", []]);
    expect(column(read(`Time,Fuel (L)\n${rows}\n`, "drive"), "reading")).toBeUndefined();
    const numbered = read(`sample,sender_V\n${rows}\n`, "drive");
    expect(numbered.cautions.map((c) => c.code)).toEqual(["recording/time-by-behaviour"]);
  });

  test("a preamble of a thousand lines is passed over", () => {
    const r = read(`${"some words here\n".repeat(1000)}volume_L;sender_V\n0;0,5\n4;1,5\n`);
    expect(r.decided.preambleLines).toBe(1000);
    expect(numbers(r, "reading")).toEqual([0.5, 1.5]);
  });

  test("accelerations, speed and flow come in g, km/h and L/h", () => {
    const r = read(
      "t (s),sender mV,accel_y [m/s²],accel_x (m/s^2),speed mph,flow_L_per_h\n0,510,9.80665,0,10,7\n1,511,0,0,20,8\n",
      "drive",
    );
    expect(column(r, "across").values[0]).toBeCloseTo(1, 12);
    expect(column(r, "speed").values[0]).toBeCloseTo(16.09344, 12);
    expect(r.columns.map((c) => [c.role, c.unit])).toEqual([
      ["time", "s"],
      ["reading", "V"],
      ["across", "g"],
      ["along", "g"],
      ["speed", "km/h"],
      ["flow", "L/h"],
    ]);
  });

  test("a fuel trim, a temperature or a pressure is never taken for the fuel", () => {
    const r = read(
      "ENGINE_RUN_TIME (),COOLANT_TEMPERATURE (),LONG_TERM_FUEL_TRIM_BANK_1 (),FUEL_TANK (),VEHICLE_SPEED (),\n1,80,3,41.2,0,\n1,80,3,41.2,0,\n2,80,3,41.6,5,\n",
      "drive",
    );
    expect(column(r, "reading").header).toBe("FUEL_TANK ()");
    expect(column(r, "time").header).toBe("ENGINE_RUN_TIME ()");
    expect(r.columns.some((c) => c.role === "volume")).toBe(false);
  });

  test("clock times go on over midnight, with a date and without", () => {
    const plain = read("time,sender_V\n23:59:58.5,1\n23:59:59.5,2\n00:00:00.5,3\n", "drive");
    expect(numbers(plain, "time")).toEqual([86398.5, 86399.5, 86400.5]);
    for (const [a, b] of [
      ["2026-02-28", "2026-03-01"],
      ["28.02.2026", "01.03.2026"],
      ["28/02/2026", "01/03/2026"],
      ["2/28/2026", "3/1/2026"],
    ]) {
      const dated = read(`time,sender_V\n${a} 23:59:59,1\n${b} 00:00:01,2\n${b} 13:00:01,2\n`, "drive");
      expect(numbers(dated, "time").map((t) => t - numbers(dated, "time")[0]!)).toEqual([0, 2, 46_802]);
    }
    const half = read("time,sender_V\n11:59:59 PM,1\n12:00:01 AM,2\n", "drive");
    expect(numbers(half, "time")).toEqual([86399, 86401]);
  });

  test("a clock that steps back a little is left as it is: that is no midnight", () => {
    expect(numbers(read("time,sender_V\n10:00:05,1\n10:00:03,2\n", "drive"), "time")).toEqual([36005, 36003]);
  });

  test("whole numbers in steps of 50 without a unit are milliseconds, and the user is told", () => {
    const rows = Array.from({ length: 40 }, (_, i) => `${1575643 + 50 * i}\t${2250 + (i % 3)}`).join("\n");
    const r = read(rows, "drive");
    expect(column(r, "time").values[1]! - column(r, "time").values[0]!).toBeCloseTo(0.05, 9);
    expect(r.cautions.map((c) => [c.code, c.weight])).toContainEqual(["recording/milliseconds", "holds-if"]);
  });

  test("volumes counted up are told from volumes added by how they behave", () => {
    const entered = (volumes: number[]) =>
      read(`volume_L,sender_V\n${volumes.map((v, i) => `${v},${0.5 + i / 10}`).join("\n")}\n`).decided.enteredAs;
    expect(entered([0, 4, 8, 12])).toBe("cumulative");
    expect(entered([0, 4, 4, 4])).toBe("added");
    expect(entered([0, 3, 4])).toBe("added");
    expect(entered([0, 10, 15, 35, 40, 60, 70])).toBe("cumulative");
    expect(entered([40, 42, 44, 46])).toBe("cumulative");
    expect(entered([0, 4, 8, 8, 4])).toBe("added");
    // Nobody's pours fall manifoldly in order: that is what was left.
    expect(entered([52, 43, 35, 27, 18, 9])).toBe("cumulative");
    expect(entered([5.2, 5.1, 5, 4.9, 4.8, 4.7])).toBe("added");
    // A slip in a count is no reason to add the count up.
    expect(entered([0, 4, 8, 12, 11.2, 20, 24, 28, 32, 36, 40, 44])).toBe("cumulative");
  });

  test("where both readings of the volumes fit, that is said until somebody decides", () => {
    const sure = (volumes: string, by: FileReading | null = null) =>
      read(
        `volume,sender_V\n${volumes
          .split(" ")
          .map((v, i) => `${v},${0.5 + i / 10}`)
          .join("\n")}\n`,
        "fill",
        by,
      ).decided.enteredSure;
    expect(sure("0 4 8 12")).toBe(true);
    expect(sure("0 4 4 4 4")).toBe(true);
    expect(sure("0 4 8 6 16")).toBe(false);
    expect(sure("0 4 8 6 16", { enteredAs: "added" })).toBe(true);
  });

  test("of nameless columns a constant one is not the sender, and a long one that rises evenly is the time", () => {
    const rows = Array.from({ length: 300 }, (_, i) => `${i / 10}\t2250\t${2 + (i % 50) / 100}`).join("\n");
    for (const kind of ["drive", "fill"] as const) {
      const r = read(rows, kind);
      expect(column(r, "time").header).toBe("column 1");
      expect(column(r, "reading").header).toBe("column 3");
    }
  });

  test("a reading by hand keeps no unit that a reading cannot have", () => {
    const r = read("volume_L,level (mm)\n0,10\n4,20\n8,30\n", "fill", { columns: { reading: "2" } });
    expect(column(r, "reading").unit).toBeNull();
  });

  test("what the user says by hand comes first: marks, header, columns by name or number, units", () => {
    const text = "a;b;c\n1;0,5;10\n2;0,7;20\n3;0,8;30\n";
    const by = read(text, "fill", {
      columns: { reading: "b", volume: "3" },
      units: { volume: "impgal", reading: "mV" },
    });
    expect(column(by, "volume")).toMatchObject({ header: "c", unit: "impgal", why: "by hand" });
    expect(numbers(by, "reading")).toEqual([0.5, 0.7, 0.8].map((x) => x * 1e-3));
    expect(read(text, "fill", { enteredAs: "added" }).decided.enteredAs).toBe("added");
    expect(read("x,y\nvolume,sender\n0,1\n4,2\n", "fill", { headerRow: 1 }).columns[0]!.header).toBe("x");
    // Set to nothing by hand, a role stays open.
    expect(read(text, "fill", { columns: { volume: "" } }).columns.some((c) => c.role === "volume")).toBe(false);
  });
});

describe("bad input has its line and its remedy", () => {
  test("empty, blank, binary, header only", () => {
    expect(refused("").code).toBe("recording/empty");
    expect(refused("\n \n\n").code).toBe("recording/empty");
    expect(refused(Uint8Array.from({ length: 300 }, (_, i) => (i * 91) % 256)).code).toBe("recording/binary");
    const header = refused("volume_L,sender_V\n");
    expect(header).toMatchObject({ code: "recording/header-only", where: { row: 1, text: "volume_L,sender_V" } });
    expect(header.says).toContain("run.csv");
  });

  test("text where a number should stand keeps its line and the raw line", () => {
    const r = read('volume_L;sender_V\n0;0,51\n4;"open"\n8;1,55\n12;1,9\n');
    const [odd] = r.oddLines;
    expect(odd).toMatchObject({
      code: "recording/text-for-number",
      where: { file: "run.csv", row: 3, column: "sender_V", text: '4;"open"' },
    });
    expect(odd!.says).toBe("run.csv, line 3, sender_V: “open” is no number, so that cell is left out.");
    expect(column(r, "reading").valid[1]).toBe(0);
    expect(r.cautions).toEqual(r.oddLines);
  });

  test("a slip in the first row does not make it a header", () => {
    const r = read("volume_L,sender_V\nzero,0.51\n4,1.13\n8,1.55\n");
    expect(r.decided.headerLine).toBe(1);
    expect(r.oddLines[0]!.where).toMatchObject({ row: 2, column: "volume_L" });
  });

  test("mixed decimal marks are named as such", () => {
    const r = read("volume_L;sender_V\n0;0.51\n4;1,13\n8;1.55\n12;1.9\n");
    expect(r.oddLines[0]).toMatchObject({ code: "recording/mixed-decimals", where: { row: 3, text: "4;1,13" } });
    expect(r.oddLines[0]!.says).toContain("has a decimal comma where the file has a decimal point");
    const commas = read("volume_L,sender_V\n0,0.51\n4,1.13\n8,1,55\n12,1.9\n16,2.1\n");
    expect(commas.oddLines[0]).toMatchObject({ code: "recording/too-wide", where: { row: 4, text: "8,1,55" } });
    expect(column(commas, "reading").valid[2]).toBe(0);
  });

  test("NaN, inf and n/a are blanks, and said to be", () => {
    const r = read("volume_L,sender_V\n0,0.51\n4,NaN\n8,inf\n12,1.9\n16,n/a\n20,2.5\n");
    expect(numbers(r, "reading")).toEqual([0.51, Number.NaN, Number.NaN, 1.9, Number.NaN, 2.5]);
    expect(r.oddLines[0]!.says).toBe(
      "run.csv, sender_V: “NaN” stands for a number in 3 lines: 3, 4, 6; they are taken as blank.",
    );
    expect(read("volume_L,sender_V\n0,1\n4,1e999\n8,3\n").columns[1]!.valid[1]).toBe(0);
  });

  test("nothing is dropped in silence: with many odd cells every one is counted", () => {
    const rows = Array.from({ length: 40 }, (_, i) => `${4 * i},${i % 2 ? "?!" : i / 10}`).join("\n");
    const r = read(`volume_L,sender_V\n${rows}\n`);
    expect(r.oddLines.at(-1)!.says).toContain("20 cells are no numbers and are left out, in lines 3, 5, 7");
  });

  test("a footer and a header that comes again are told by line", () => {
    const r = read("volume_L,sender_V\n0,0.5\n4,1.1\nvolume_L,sender_V\n8,1.5\nend of file,\n");
    expect(r.oddLines.map((o) => [o.code, o.where!.row])).toEqual([
      ["recording/header-again", 4],
      ["recording/text", 6],
    ]);
  });

  test("a column of the right name that holds only text is told", () => {
    const r = read("volume_L,time,sender_V\n0,1,open\n4,2,open\n8,3,open\n");
    expect(r.oddLines.some((o) => o.where!.column === "sender_V")).toBe(true);
  });

  test("an open quote loses no line", () => {
    const r = read('volume_L,sender_V\n0,0.5\n4,"1.1\n8,1.5\n12,1.8\n');
    expect(r.rows).toBe(4);
    expect(r.oddLines.map((o) => o.code)).toContain("recording/loose-quote");
  });

  test("a column or a unit that does not exist is refused with what there is", () => {
    expect(refused("a,b\n1,2\n3,4\n", { columns: { reading: "sender" } })).toMatchObject({
      code: "recording/no-such-column",
      says: "run.csv: there is no column “sender” for the reading; there are “a”, “b”.",
    });
    expect(refused("a,b\n1,2\n3,4\n", { units: { reading: "furlong" } }).code).toBe("recording/unknown-unit");
  });

  test("hostile names stay plain text", () => {
    const r = read("__proto__,<img src=x onerror=alert(1)>,constructor\n0,1,2\n4,2,3\n");
    expect(r.columns.map((c) => c.header)).toEqual(["__proto__", "<img src=x onerror=alert(1)>", "constructor"]);
  });
});

describe("a long log, scanned from its bytes", () => {
  const odd = fc.constantFrom(
    "",
    "open",
    "NaN",
    "1,5",
    "7,8,9,10,11",
    "end of log,,",
    "12:00,,",
    "\u00a01,2,3",
    "time,sender,speed",
    "−1,2,3",
  );
  test("gives the columns that the CSV library gives, odd lines included", () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 1e6 }),
        fc.array(fc.tuple(fc.nat(5999), odd), { maxLength: 12 }),
        fc.constantFrom("\n", "\r\n", "\r"),
        fc.constantFrom("seconds", "clock"),
        fc.constantFrom("utf-8", "utf-16le"),
        (seed, changes, end, time, encoding) => {
          const lines = Array.from({ length: 6000 }, (_, i) => {
            const s = i / 10 + 86_000;
            const clock = `${Math.floor(s / 3600) % 24}:${String(Math.floor(s / 60) % 60).padStart(2, "0")}:${(s % 60).toFixed(1).padStart(4, "0")}`;
            return `${time === "clock" ? clock : s.toFixed(1)},${(1 + (((i * seed) % 997) / 997) * 2).toFixed(4)},${i % 7 ? (i * seed) % 91 : ""}`;
          });
          for (const [at, text] of changes) lines[Math.max(20, at)] = text;
          const text = `time,sender,speed${end}${lines.join(end)}${end}`;
          const encode = (t: string) =>
            encoding === "utf-8"
              ? new TextEncoder().encode(t)
              : Uint8Array.from([...`\ufeff${t}`].flatMap((c) => [c.charCodeAt(0) & 255, c.charCodeAt(0) >> 8]));
          const scanned = read(encode(text), "drive");
          // One quoted cell at the end sends the whole file to the CSV library.
          const parsed = read(encode(`${text}"7777.7","3","1"${end}`), "drive");
          const last = parsed.rows - 1;
          expect(scanned.rows).toBe(last);
          expect([...scanned.line]).toEqual([...parsed.line.subarray(0, last)]);
          scanned.columns.forEach((c, k) => {
            const other = parsed.columns[k]!;
            if (k > 0 || time !== "clock") expect(c.values).toEqual(other.values.subarray(0, last));
            else {
              const differs = c.values.findIndex((v, i) => !Object.is(v, other.values[i]));
              expect(differs).toBe(-1);
            }
            expect([c.role, c.unit, c.writtenStep]).toEqual([other.role, other.unit, other.writtenStep]);
          });
          expect(scanned.oddLines.map((o) => o.says)).toEqual(parsed.oddLines.map((o) => o.says));
        },
      ),
      { numRuns: 25 },
    );
  });
});
