import { pino } from "pino";
import { expect, it } from "vitest";
import { openSqliteStore } from "../readings/sqlite.ts";
import { Outlooks } from "./outlooks.ts";

const nowMs = Date.UTC(2026, 2, 2, 8);
const sensors = { "air-temperature": "pi/air" };
const places = {
  booth: { name: "Booth", kind: "booth" as const, sensors },
  yard: { name: "Yard", kind: "yard" as const, sensors: { "air-temperature": "pi/yard" } },
};

it("a store that fails leaves places with their last forecast, and ends nothing", async () => {
  const store = openSqliteStore(":memory:");
  const said: string[] = [];
  const logger = pino({ level: "error" }, { write: (line: string) => said.push(line) });
  const outlooks = new Outlooks({
    shopFile: { places, outdoorPlace: "yard", energy: undefined },
    store: { ...store, thin: () => Promise.reject(new Error("disk away")) },
    current: () => ({ value: 20, atMs: nowMs, sensor: "pi/air", cadenceMs: 5000 }),
    offsetMs: () => 0,
    logger,
  });
  await outlooks.learn(nowMs);
  expect(said.join("")).toContain("disk away");
  expect(outlooks.of("booth", nowMs)?.hours[0]?.airC).toBe(20);
  await store.close();
});
