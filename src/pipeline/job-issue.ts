/** What is wrong with a field of the job, in words: what it should be, and what stands there. */
import type { z } from "zod";
import type { Issue } from "../answer";
import { jobInputSchema } from "./job-schema";

const kinds: Record<string, string> = {
  number: "a number",
  int: "a whole number",
  string: "text",
  boolean: "true or false",
  array: "a list",
  object: "a group of fields in braces",
};

/** The fields that the schema takes at a path: what a stage adds to the job by itself is none of them. */
function fieldsAt(path: PropertyKey[]): string[] {
  type Node = { unwrap?: () => Node; shape?: Record<PropertyKey, Node> };
  const bare = (node: Node | undefined): Node | undefined => (node?.unwrap ? bare(node.unwrap()) : node);
  const at = path.reduce<Node | undefined>((node, key) => bare(node)?.shape?.[key], jobInputSchema as Node);
  return Object.keys(bare(at)?.shape ?? {});
}

/** @param issue the first thing that the schema objects to. @param input the job as it was given. */
export function jobIssue(issue: z.core.$ZodIssue, input: unknown): Issue {
  const at = (root: unknown) =>
    issue.path.reduce<unknown>((o, key) => (o as Record<PropertyKey, unknown> | null | undefined)?.[key], root);
  const path = issue.path.join(".");
  const named = path || "the job";
  const told = (says: string, remedy: string, column = named): Issue => ({
    code: "job/invalid",
    says,
    remedy,
    where: { column },
  });
  const mend = "Correct that field, or leave it out: then a named default is used and said.";
  if (issue.code === "unrecognized_keys") {
    const field = [...issue.path, issue.keys[0]!].join(".");
    const fields = fieldsAt(issue.path);
    return told(
      `In the job there is no field ${field}.`,
      `Write it as one of these, or take it out: ${fields.join(", ")}.`,
      field,
    );
  }
  return told(`In the job, ${named} ${shouldBe(issue, at(input))}.`, mend);
}

/** What a field should be and what stands there: `should be a number, and is "much"`. */
export function shouldBe(issue: z.core.$ZodIssue, given: unknown): string {
  const is = JSON.stringify(given)?.slice(0, 60) ?? "not there";
  if (issue.code === "invalid_type") return `should be ${kinds[issue.expected] ?? issue.expected}, and is ${is}`;
  if (issue.code === "invalid_value") return `should be one of ${issue.values.join(", ")}, and is ${is}`;
  if (issue.code === "too_small")
    return `should be ${issue.inclusive ? "at least" : "more than"} ${issue.minimum}, and is ${is}`;
  if (issue.code === "too_big")
    return `should be ${issue.inclusive ? "at most" : "less than"} ${issue.maximum}, and is ${is}`;
  return `cannot be used: ${issue.message}`;
}
