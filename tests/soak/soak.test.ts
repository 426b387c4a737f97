/** Two simulated hours of the soak, with many more faults than its month has in such a time. */
import { expect, it } from "vitest";
import { soak } from "./soak.ts";

it("loses and doubles nothing in two hours in which all is killed, jumps, fails and is filled", async () => {
  const account = await soak({
    seed: 2566,
    days: 2 / 24,
    minutes: 0.15,
    everySeconds: 20,
    often: 12,
    broker: "mosquitto",
    tell: () => undefined,
  });
  expect(account.unsound).toEqual([]);
  expect(account.readings).toMatchObject({ lost: 0, changed: 0, doubled: 0 });
  expect(account.readings.stored).toBe(account.readings.made);
  expect(account.entries).toMatchObject({ lost: 0, doubled: 0 });
  expect(account.entries.found).toBe(account.entries.acknowledged);
  // Else little flowed or little went wrong, and this shows nothing.
  expect(account.readings.made).toBeGreaterThan(300);
  for (const kills of Object.values(account.kills)) expect(kills).toBeGreaterThan(0);
}, 120_000);
