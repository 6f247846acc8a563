/** `check`: is a notebook sound, and do the settings that were handed over still follow from its data? */
import { published } from "../said";
import { DataError, lineOf, openNotebook, optionsIn, sourceOf, UsageError } from "./given";

export async function check(args: string[]): Promise<number> {
  const { values, positionals } = optionsIn(args, { drive: { type: "string", multiple: true } });
  const [path] = positionals;
  if (!path || positionals.length !== 1) throw new UsageError("check takes one notebook");
  const notebook = await openNotebook(path);
  const { sourcesOf } = await import("../notebook/file");
  const { createPipeline, answersOf } = await import("../pipeline/index");
  const brought = (values.drive ?? []).map((f) => sourceOf(f, "drive"));
  const sources = sourcesOf(notebook, new Map(brought.map((f) => [f.sha256, f.bytes])));
  const lines = [
    `${path}: a sound notebook, ${counted(sources.files.fills.length, "fill or drain run")}, ${counted(notebook.drives.length, "drive log")}.`,
  ];
  const stranger = brought.find((f) => !notebook.drives.some((d) => d.sha256 === f.sha256));
  if (stranger)
    throw new DataError(
      `${stranger.name}: this notebook names no drive log with these bytes. Bring the log it was made with.`,
    );
  const missing = notebook.drives.filter((d) => !sources.files.drives.some((f) => f.sha256 === d.sha256));
  for (const drive of missing)
    lines.push(
      `The drive log ${drive.name} is named by its hash only; what stands on it is not recomputed. Bring it with --drive.`,
    );
  const answers = answersOf(createPipeline(sources));
  for (const [name, answer] of Object.entries(answers))
    if (answer.state === "stuck" && answer.issue.code.endsWith("/internal"))
      lines.push(`${name}: ${lineOf(answer.issue)}`);
  let differs = false;
  const { issued } = notebook;
  if (issued && missing.length > 0)
    lines.push("Whether the settings handed over still hold cannot be said without that log.");
  else if (issued) {
    const now = answers.settings.state === "ready" ? answers.settings.value : null;
    const changes = differences(withoutLines(issued.settings), withoutLines(now));
    differs = changes.length > 0;
    lines.push(
      differs
        ? `The settings handed over on ${issued.at} are not what the data give now:`
        : `The settings handed over on ${issued.at} are what the data give now.`,
      ...changes.map((c) => `  ${c}`),
    );
  }
  const reasons = new Map<string, string[]>();
  for (const [name, answer] of Object.entries(answers)) {
    if (answer.state !== "stuck") continue;
    const why = published(answer.issue.says);
    reasons.set(why, [...(reasons.get(why) ?? []), name]);
  }
  for (const [why, names] of reasons) lines.push(`Not computed: ${names.join(", ")}. ${why}`);
  process.stdout.write(`${lines.join("\n")}\n`);
  return differs ? 1 : 0;
}

const counted = (n: number, what: string) => `${n} ${what}${n === 1 ? "" : "s"}`;

/** The card's lines repeat the settings in words. */
function withoutLines(settings: unknown): unknown {
  if (typeof settings !== "object" || settings === null) return settings;
  const { lines: _lines, ...rest } = settings as Record<string, unknown>;
  return rest;
}

/** Each value that differs, with its path; what only one side has counts as well. */
function differences(before: unknown, now: unknown, path = "settings"): string[] {
  const isNode = (v: unknown): v is Record<string, unknown> => typeof v === "object" && v !== null;
  if (isNode(before) && isNode(now)) {
    const keys = [...new Set([...Object.keys(before), ...Object.keys(now)])];
    return keys.flatMap((k) => differences(before[k] ?? null, now[k] ?? null, `${path}.${k}`));
  }
  return before === now ? [] : [`${path}: ${JSON.stringify(before)} then, ${JSON.stringify(now)} now`];
}
