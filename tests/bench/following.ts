/** What a reading costs where a hundred coats are followed live: all that Follow does between the commit and the listeners. */
import { setTimeout as delay } from "node:timers/promises";
import { pino } from "pino";
import type { Quantity } from "../../collector/readings.ts";
import { Follow } from "../../predictor/follow/follow.ts";
import { openSqliteStore } from "../../predictor/readings/sqlite.ts";
import type { StoredReading } from "../../predictor/readings/store.ts";
import { inventedSheets } from "../../predictor/records/library.ts";
import { type By, program, Records } from "../../predictor/records/records.ts";
import { shopFileSchema } from "../../predictor/shop-file.ts";
import { type BenchRow, benchRow, median } from "./row.ts";

const coats = 100;
const readingsASecond = 10;
const cadenceMs = 10_000;
const dayMs = 24 * 60 * 60_000;
const startMs = Date.UTC(2026, 1, 2);
const painter: By = { who: "an invented painter", role: "painter" };
const places = ["booth", "prep", "workshop", "yard"];
const quantities: [Quantity, middle: number, swing: number][] = [
  ["air-temperature", 19, 5],
  ["air-humidity", 55, 10],
  ["panel-temperature", 18.5, 5],
];
/** So many rounds of all twelve lines are timed together. */
const roundsTimed = 200;

export async function followingBench(): Promise<BenchRow[]> {
  const store = openSqliteStore(":memory:");
  let nowMs = startMs;
  const now = () => nowMs;
  const records = new Records({ file: ":memory:", now, clock: () => "synchronised" });
  for (const sheet of inventedSheets()) records.keepSheet(sheet, program);
  const { places: shopPlaces, learning } = shopFileSchema.parse({
    shop: "bench",
    name: "Invented shop",
    places: Object.fromEntries(
      places.map((place) => [
        place,
        {
          name: place,
          kind: "workshop",
          sensors: Object.fromEntries(quantities.map(([quantity]) => [quantity, `pi/${place}`])),
        },
      ]),
    ),
    collectors: { pi: { elsewhere: true, sensors: places } },
  });
  const logger = pino({ level: "silent" });
  const follow = new Follow({
    store,
    records,
    shopFile: { places: shopPlaces, learning },
    offsetMs: () => 0,
    now,
    logger,
  });

  await store.append(roundAt(0));
  const ids = Array.from({ length: coats }, (_, n) => liveCoat(records, n));
  await follow.start();
  for (const id of ids) await follow.coat(id);

  let round = 1;
  const goOn = (rounds: number) => {
    for (const until = round + rounds; round < until; round++) {
      nowMs = startMs + round * cadenceMs;
      follow.committed(roundAt(round));
    }
  };
  const goOnTo = (ms: number) => goOn(Math.max(0, ms / cadenceMs - round));
  const microsecondsAReading = async () => {
    const costs: number[] = [];
    for (let stretch = 0; stretch < 15; stretch++) {
      const cpu = process.cpuUsage();
      goOn(roundsTimed);
      const { user, system } = process.cpuUsage(cpu);
      costs.push((user + system) / (roundsTimed * places.length * quantities.length));
      await delay(0);
    }
    return median(costs);
  };
  try {
    goOnTo(dayMs);
    const dayUs = await microsecondsAReading();
    goOnTo(30 * dayMs);
    const monthUs = await microsecondsAReading();
    const live = ids.length - (await Promise.all(ids.map((id) => follow.coat(id)))).filter(isLeftBehind(nowMs)).length;
    if (live !== coats) throw new Error(`${coats - live} of ${coats} coats were not followed up to the last reading`);
    return [
      benchRow(
        {
          name: `following: ${coats} live coats at ${readingsASecond} readings a second`,
          floor: "2 % of a core",
          floorValue: 2,
          value: (100 * monthUs * readingsASecond) / 1e6,
          unit: "% of a core",
        },
        { most: 1 },
      ),
      benchRow(
        {
          name: `following: a reading for ${coats} coats after a month`,
          floor: "the same after a day",
          floorValue: dayUs,
          value: monthUs,
          unit: "µs",
        },
        { most: 1.2 },
      ),
    ];
  } finally {
    await follow.stop();
    records.close();
    await store.close();
  }
}

const isLeftBehind =
  (nowMs: number) =>
  ({ lastReadingAtMs }: { lastReadingAtMs: number | null }) =>
    !(lastReadingAtMs !== null && lastReadingAtMs >= nowMs - 2 * cadenceMs);

/** Every line once, at the same instant; invented days that warm and cool. */
function roundAt(round: number): StoredReading[] {
  const atMs = startMs + round * cadenceMs;
  const day = (2 * Math.PI * atMs) / dayMs;
  return places.flatMap((place, p) =>
    quantities.map(([quantity, middle, swing], q) => ({
      collector: "pi",
      sensor: place,
      quantity,
      atMs,
      value: middle + swing * Math.sin(day + q) + 0.03 * Math.sin(round * (1.7 + p)),
    })),
  );
}

function liveCoat(records: Records, n: number): string {
  const place = places[n % places.length] ?? "booth";
  const panels = [{ name: "bonnet", substrate: "steel" }] as const;
  const car = records.addCar({ job: `J-${n}`, name: `Invented car ${n}`, panels, place, atMs: startMs }, painter);
  const entered = { sheetId: "demo-clear", filmUm: null, panelAtFinishC: null, batches: [], sprayCheck: null };
  const [coat] = records.addCoats(car.id, { ...entered, panels: ["bonnet"], finishedAtMs: startMs }, painter);
  if (coat === undefined) throw new Error("no coat");
  return coat.id;
}
