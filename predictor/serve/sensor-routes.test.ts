import { afterEach, expect, it, vi } from "vitest";
import { ask, openShop, type ServedShop } from "../../tests/served-shop.ts";
import { coverageSchema, differencesSchema, sensorsSchema } from "./sensor-api.ts";

let shop: ServedShop;
afterEach(() => shop.close());

const instruments = `
  instruments: { air: {
    air-temperature: { offset: 0.3, calibrated: 2024-05-04, due: 2025-05-04, reference: "REF-7 (invented)" },
    air-humidity: { slope: 1.02, due: 2999-01-01 } } }`;

/** The booth's humidity is compared with a second sensor, and its air was due long ago. */
const open = async () => {
  shop = await openShop("", {
    booth: "compare: { air-humidity: pi/second }",
    collector: `sensors: [air, yard, second], ${instruments}`,
  });
};
const sensors = async (query = "") => sensorsSchema.parse((await ask(shop, `/api/sensors${query}`)).body).sensors;
const line = (sensor: string, quantity: string, unit: string, v: number, t: number, more = {}) => ({
  ...{ bn: `pi/${sensor}/`, n: quantity, u: unit, v, t },
  ...more,
});
const humidity = (sensor: string, v: number, t: number, more = {}) => line(sensor, "air-humidity", "%RH", v, t, more);

/** Forty minutes of both humidities, so far apart, up to now. */
async function humidities(apart: number): Promise<void> {
  for (let minutes = 40; minutes >= 0; minutes -= 1) {
    shop.send([humidity("air", 50, -60 * minutes)]);
    shop.send([humidity("second", 50 - apart, -60 * minutes)]);
  }
  await vi.waitFor(async () => {
    const heard = (await sensors()).filter(({ quantity, newest }) => quantity === "air-humidity" && newest !== null);
    expect(heard).toHaveLength(2);
    for (const { newest } of heard) expect(Date.now() - Date.parse(newest?.at ?? "")).toBeLessThan(30_000);
  }, 10_000);
}

it("tells each sensor of each place with its correction, its history and when it is due", async () => {
  await open();
  const told = await sensors();
  expect(told.map(({ sensor, quantity, role }) => `${sensor} ${quantity} ${role}`).sort()).toEqual([
    "pi/air air-humidity reckoned",
    "pi/air air-temperature reckoned",
    "pi/second air-humidity compared",
    "pi/yard air-temperature reckoned",
  ]);
  const setting = { slope: 1, offset: 0.3, calibrated: "2024-05-04", due: "2025-05-04", reference: "REF-7 (invented)" };
  // Nothing was heard yet, so that the one that is overdue comes first.
  expect(told[0]).toMatchObject({
    ...{ sensor: "pi/air", quantity: "air-temperature", health: "awaited", troubles: [], newest: null },
    ...{ place: { id: "booth", name: "Booth" }, due: "over", setting, neighbour: null, collector: null },
    // This collector is not ours to start: its readings come ready made.
    isCorrected: false,
    history: [{ ...setting, at: expect.any(String) }],
  });
  const of = (quantity: string) => told.find((each) => each.quantity === quantity && each.sensor === "pi/air");
  expect(of("air-humidity")).toMatchObject({
    ...{ due: "later", setting: { slope: 1.02, offset: 0 } },
    neighbour: { sensor: "pi/second", difference: null },
  });
});

it("puts the worst first, in the words of the warnings and the reader's language", async () => {
  await open();
  await humidities(15);
  shop.send([line("yard", "air-temperature", "Cel", 7, 0, { quality: "bad", why: "stuck" })]);
  shop.send([line("air", "air-temperature", "Cel", 21, 0, { quality: "doubtful", why: "fast change" })]);
  await vi.waitFor(async () => {
    expect((await sensors()).map(({ sensor, health }) => `${sensor} ${health}`)).toEqual([
      "pi/yard stuck",
      "pi/air disagrees",
      "pi/second disagrees",
      "pi/air fast change",
    ]);
  }, 5_000);
  const [stuck, first, second, doubtful] = await sensors();
  expect(stuck).toMatchObject({
    newest: { value: 7, isUsed: false },
    troubles: [{ text: "Sensor pi/yard (air temperature) is stuck at 7 °C: not used" }],
  });
  expect(first?.neighbour).toEqual({
    ...{ sensor: "pi/second", difference: { byMedian: 15, overHours: 0.5, differs: "now" } },
  });
  expect(second?.neighbour?.difference?.byMedian).toBe(-15);
  expect(first?.troubles[0]?.action).toContain("solvent vapour");
  expect(first?.cadenceSeconds).toBe(60);
  expect(doubtful?.troubles[0]?.text).toContain("21 °C: used");
  expect((await sensors("?language=de"))[0]?.troubles[0]?.text).toContain("hängt bei 7 °C");
}, 20_000);

it("tells how neighbours differed, and for how many minutes of each day there are readings", async () => {
  await open();
  await humidities(15);
  const { pairs } = differencesSchema.parse((await ask(shop, "/api/sensors/differences?days=2")).body);
  expect(pairs).toHaveLength(1);
  expect(pairs[0]).toMatchObject({ place: { id: "booth" }, sensors: ["pi/air", "pi/second"], bound: 6, lately: 15 });
  expect(pairs[0]?.by).toHaveLength(96);
  expect(pairs[0]?.beyond).toMatchObject({ orBefore: true });

  const { days, lines, pending } = coverageSchema.parse((await ask(shop, "/api/sensors/coverage?days=2")).body);
  expect([days.length, lines.length, pending]).toEqual([2, 3, 0]);
  const minutes = lines.find(({ quantity }) => quantity === "air-humidity")?.minutes ?? [];
  const counted = (minutes[0] ?? 0) + (minutes[1] ?? 0);
  // Forty minutes, whichever side of midnight they fall; the step that runs is left out, the first counts whole.
  expect(counted).toBeGreaterThanOrEqual(35);
  expect(counted).toBeLessThanOrEqual(45);
  expect(lines.find(({ place }) => place.id === "yard")?.minutes).toEqual([0, 0]);
}, 20_000);

it("counts no more days than it keeps, and compares no more than a fortnight", async () => {
  await open();
  expect((await ask(shop, "/api/sensors/coverage?days=91")).status).toBe(400);
  expect((await ask(shop, "/api/sensors/coverage?days=0")).status).toBe(400);
  expect((await ask(shop, "/api/sensors/differences?days=15")).status).toBe(400);
});
