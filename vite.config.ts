import solid from "vite-plugin-solid";
import { defineConfig } from "vitest/config";

/** The page lives in src; tests are run from the top so that they reach datasets and reference cases too. */
export default defineConfig({
  root: "src",
  plugins: [solid()],
  worker: { format: "es" },
  build: { outDir: "../dist", emptyOutDir: true, target: "es2022", chunkSizeWarningLimit: 6000 },
  server: { fs: { allow: [".."] } },
  test: {
    environment: "node",
    projects: [
      {
        extends: true,
        test: {
          name: "unit",
          root: ".",
          environment: "node",
          include: ["tests/**/*.test.ts"],
          exclude: ["tests/browser/**"],
          // Guards against what hangs, not against a slow machine: hooks run the whole pipeline too.
          testTimeout: 180_000,
          hookTimeout: 180_000,
        },
      },
      {
        extends: true,
        test: {
          name: "browser",
          root: ".",
          environment: "node",
          include: ["tests/browser/**/*.test.ts"],
          globalSetup: ["tests/browser/serve.ts"],
          testTimeout: 180_000,
          hookTimeout: 180_000,
          expect: { poll: { timeout: 30_000 } },
          fileParallelism: false,
        },
      },
    ],
  },
});
