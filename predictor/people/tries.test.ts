import type Database from "better-sqlite3";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { openDatabase } from "../database.ts";
import { elsewhere, fromAddress, onDevice, Tries, triesTable, underUnknownName } from "./tries.ts";

const nowMs = Date.parse("2026-03-02T08:00:00Z");
let database: Database.Database;
beforeEach(() => {
  database = openDatabase(":memory:", triesTable);
});
afterEach(() => database.close());

describe("a flood of invented names", () => {
  it("makes no wrong try of a real person be forgotten", async () => {
    const tries = new Tries(database);
    const [paul, phone] = [elsewhere("Paul"), onDevice("Paul", "digest")];
    for (let number = 0; number < 10; number++) tries.take([paul, phone], nowMs);
    const until = [paul, phone].map((count) => tries.lockedUntilMs(count, nowMs));
    for (let number = 0; number < 5_500; number++) {
      tries.take([underUnknownName(`nobody ${number}`), fromAddress(`a${number}`)], nowMs);
    }
    expect([paul, phone].map((count) => tries.lockedUntilMs(count, nowMs))).toEqual(until);
    const { rows } = database.prepare<[], { rows: number }>("SELECT count(*) AS rows FROM tries").get() ?? { rows: 0 };
    expect(rows).toBe(20 + 2 * 5_000);
  }, 60_000);
});
