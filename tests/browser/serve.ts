/** Builds the page once and serves it for all browser tests. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { build, preview } from "vite";
import type { TestProject } from "vitest/node";

declare module "vitest" {
  interface ProvidedContext {
    address: string;
  }
}

export default async function serve(project: TestProject): Promise<() => Promise<void>> {
  const { address, close } = await servePage();
  project.provide("address", address);
  return close;
}

/** Builds the page into a folder of its own and serves it on this machine. */
export async function servePage(): Promise<{ address: string; close: () => Promise<void> }> {
  const configFile = fileURLToPath(new URL("../../vite.config.ts", import.meta.url));
  const root = fileURLToPath(new URL("../../src", import.meta.url));
  const outDir = mkdtempSync(join(tmpdir(), "fillbook-page-"));
  await build({ configFile, root, logLevel: "error", build: { outDir, emptyOutDir: true } });
  const server = await preview({
    configFile,
    root,
    logLevel: "error",
    build: { outDir },
    preview: { host: "127.0.0.1", port: 0, strictPort: false },
  });
  const address = server.resolvedUrls?.local[0];
  if (!address) throw new Error("servePage: the built page has no address");
  return {
    address,
    close: async () => {
      await server.close();
      rmSync(outDir, { recursive: true, force: true });
    },
  };
}
