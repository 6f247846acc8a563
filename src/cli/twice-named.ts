/** A field that is named twice in one object: every reader of JSON keeps the last and says nothing. */

/**
 * @param text JSON that can be read. @returns path of the field and line of its second name, for the first such field; null where there is none.
 */
export function namedTwice(text: string): { path: string; line: number } | null {
  const open: { names: Set<string> | null; path: string; items: number }[] = [];
  let line = 1;
  let name: string | null = null;
  for (let i = 0; i < text.length; i++) {
    const c = text[i]!;
    const inside = open[open.length - 1];
    if (c === "\n") line++;
    else if (c === '"') {
      const from = i++;
      while (text[i] !== '"') i += text[i] === "\\" ? 2 : 1;
      // A text is a field's name where a colon follows it.
      if (!inside?.names || !/^\s*:/.test(text.slice(i + 1, i + 100))) continue;
      name = JSON.parse(text.slice(from, i + 1)) as string;
      const path = inside.path === "" ? name : `${inside.path}.${name}`;
      if (inside.names.has(name)) return { path, line };
      inside.names.add(name);
    } else if (c === "{" || c === "[") {
      const own = inside?.names ? name : inside ? String(inside.items) : null;
      const path = [inside?.path ?? "", own ?? ""].filter((p) => p !== "").join(".");
      open.push({ names: c === "{" ? new Set() : null, path, items: 0 });
    } else if (c === "}" || c === "]") open.pop();
    else if (c === "," && inside && !inside.names) inside.items++;
  }
  return null;
}
