import { defineConfig } from "vitest/config";

export default defineConfig({
  test: {
    include: [
      "collector/**/*.test.ts",
      "predictor/**/*.test.ts",
      "web/**/*.test.ts",
      "scripts/**/*.test.ts",
      "tests/**/*.test.ts",
    ],
    testTimeout: 20_000,
    maxWorkers: 2,
  },
});
