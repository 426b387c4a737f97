import { expect, it } from "vitest";
import { simulate } from "./month.ts";

it("two simulated days tell people of all that mattered, and of not too much", async () => {
  const account = await simulate({ seed: 3, days: 2 });
  expect(account.missed).toEqual([]);
  expect(Object.values(account.facts).length).toBeGreaterThan(0);
  expect(account.averagePerTenMinutes).toBeLessThan(1);
  expect(account.mostInTenMinutes).toBeLessThanOrEqual(10);
  expect(account.notices).toBeGreaterThan(0);
}, 120_000);
