import { defineConfig } from "vitest/config";
import { LongestFirst } from "./tests/longest-first.ts";

const common = {
  testTimeout: 60_000,
  // A busy machine is no fault: what is waited for may take its time.
  expect: { poll: { timeout: 20_000 } },
};

export default defineConfig({
  test: {
    maxWorkers: 2,
    sequence: { sequencer: LongestFirst },
    projects: [
      {
        test: {
          ...common,
          name: "units",
          include: [
            "collector/**/*.test.ts",
            "lamp/**/*.test.ts",
            "predictor/**/*.test.ts",
            "web/**/*.test.ts",
            "words/**/*.test.ts",
            "scripts/**/*.test.ts",
          ],
          // What they import is loaded once for all of them: a file leaves nothing behind in a module.
          isolate: false,
        },
      },
      { test: { ...common, name: "whole", include: ["tests/**/*.test.ts"] } },
    ],
  },
});
