import { expect, it } from "vitest";
import { opensElsewhere } from "./opens-elsewhere.ts";

it("is false for the names that each machine has for itself", () => {
  expect(["localhost", "127.0.0.1", "127.0.1.1", "[::1]"].map(opensElsewhere)).toEqual([false, false, false, false]);
  expect(["coatclock.local", "192.168.1.7", "127-bay.example"].map(opensElsewhere)).toEqual([true, true, true]);
});
