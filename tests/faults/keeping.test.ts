/** The program with a term for single readings: what lies beyond it is rolled up while it serves, and shown as that. */
import { cpSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, expect, it } from "vitest";
import { openSqliteStore } from "../../predictor/readings/sqlite.ts";
import { shopFileOf } from "../journeys/phone-hands.ts";
import { type Program, startProgram } from "../journeys/program.ts";

const minuteMs = 60_000;
const dayMs = 24 * 60 * minuteMs;
const data = mkdtempSync(join(tmpdir(), "coatclock-keeping-"));
let program: Program | null = null;
afterAll(async () => {
  await program?.stop();
  rmSync(data, { recursive: true, force: true });
});

interface Answer {
  readings: { at: string; value: number; meanOverMs?: number }[];
}

it("serves means for what is older than the term, and readings for the rest", async () => {
  const nowMs = Date.now();
  const series = { collector: "hand", sensor: "booth", quantity: "air-temperature" } as const;
  const store = openSqliteStore(join(data, "readings.db"));
  await store.append(
    Array.from({ length: 9 * 24 * 60 }, (_, n) => ({ ...series, atMs: nowMs - n * minuteMs, value: 20 })),
  );
  await store.close();
  program = await startProgram(shopFileOf("keeping", ", readings: { keepRawDays: 7 }"), (dataFolder) =>
    cpSync(data, dataFolder, { recursive: true }),
  );

  const at = (daysAgo: number) => new Date(nowMs - daysAgo * dayMs).toISOString();
  const ask = async (fromDaysAgo: number, toDaysAgo: number) => {
    const span = `from=${at(fromDaysAgo)}&to=${at(toDaysAgo)}`;
    return (await program?.get(`/api/places/booth/readings?${span}&quantity=air-temperature`)) as Answer;
  };
  const areMeans = ({ readings }: Answer) => readings.every(({ meanOverMs }) => meanOverMs === 5 * minuteMs);
  await expect.poll(async () => areMeans(await ask(9, 7.1)), { timeout: 40_000, interval: 500 }).toBe(true);
  expect((await ask(9, 8)).readings.length).toBeGreaterThan(280);
  expect((await ask(6.9, 6)).readings.some((reading) => "meanOverMs" in reading)).toBe(false);
  const climate = await program.get(`/api/places/booth/climate?from=${at(8)}&to=${at(7.9)}`);
  expect(climate).toMatchObject({ bucketSeconds: 300, airC: { mean: expect.arrayContaining([20]) } });
}, 60_000);
