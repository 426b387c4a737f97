import { defineConfig } from "vitest/config";
import { LongestFirst } from "./tests/longest-first.ts";

export default defineConfig({
  test: {
    include: [
      "collector/**/*.test.ts",
      "lamp/**/*.test.ts",
      "predictor/**/*.test.ts",
      "web/**/*.test.ts",
      "words/**/*.test.ts",
      "scripts/**/*.test.ts",
      "tests/**/*.test.ts",
    ],
    testTimeout: 60_000,
    // A busy machine is no fault: what is waited for may take its time.
    expect: { poll: { timeout: 20_000 } },
    maxWorkers: 2,
    sequence: { sequencer: LongestFirst },
  },
});
