/** An invented shop on disk with its log, its readings and a clock of its own, for the tests of certificates. */
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pino } from "pino";
import { readingsFileName, recordsFileName } from "../data-folder.ts";
import { Follow } from "../follow/follow.ts";
import { openSqliteStore } from "../readings/sqlite.ts";
import type { StoredReading } from "../readings/store.ts";
import { exampleRecords, painter, plainCoat } from "../records/example-records.ts";
import type { By, Coat } from "../records/records.ts";
import { readShopFile } from "../shop-file.ts";
import { shopTimeOf } from "../shop-time.ts";
import { Certificates } from "./certificates.ts";

export const minuteMs = 60_000;
/** When the coat is finished; the clock stands there at first. */
export const finishMs = Date.parse("2026-03-02T09:00:00Z");
export const quality: By = { who: "an invented inspector", role: "quality" };

export type ExampleProof = Awaited<ReturnType<typeof exampleProof>>;

interface ExampleCoat {
  job?: string;
  car?: string;
  coat?: Partial<Coat>;
}

/** `more` is put into the shop file. */
export async function exampleProof(more = "language: en") {
  const folder = mkdtempSync(join(tmpdir(), "coatclock-proof-"));
  const shopPath = join(folder, "shop.yaml");
  writeFileSync(
    shopPath,
    `{ shop: tested, name: Invented Body Works, invented: true, timeZone: Europe/Berlin, address: "http://shop.local:8080", ${more},
       places: { booth: { name: Booth 1, kind: booth, sensors: { air-temperature: pi/air, air-humidity: pi/air, panel-temperature: pi/panel } },
                 yard: { name: Yard, kind: yard, sensors: { air-temperature: pi/yard, air-humidity: pi/yard } } },
       collectors: { pi: { elsewhere: true, sensors: [air, panel, yard] } } }`,
  );
  const shopFile = readShopFile(shopPath);
  let nowMs = finishMs;
  const now = () => nowMs;
  const files = { records: join(folder, recordsFileName), readings: join(folder, readingsFileName) };
  const records = exampleRecords({ file: files.records, now });
  const store = openSqliteStore(files.readings);
  const { offsetMs } = shopTimeOf(shopFile);
  const logger = pino({ level: "silent" });
  const follow = new Follow({ store, records, shopFile, offsetMs, now, logger });
  await follow.start();
  const address = () => shopFile.address ?? "";
  const certificates = new Certificates({ records, store, follow, shopFile, address, now, version: "0.0.0" }, folder);
  return {
    folder,
    files,
    records,
    store,
    follow,
    certificates,
    /** The clock stands so many minutes after the finish from now on. */
    at(minutes: number): void {
      nowMs = finishMs + minutes * minuteMs;
    },
    /** A reading each minute, both included, counted from the finish; the panel is measured in the booth alone. */
    async air(place: "booth" | "yard", fromMinute: number, toMinute: number, airC: (minute: number) => number) {
      const sensor = place === "booth" ? "air" : place;
      const readings: StoredReading[] = [];
      for (let minute = fromMinute; minute <= toMinute; minute++) {
        const of = { collector: "pi", atMs: finishMs + minute * minuteMs };
        const celsius = airC(minute);
        readings.push({ ...of, sensor, quantity: "air-humidity", value: 55 - minute / 20 });
        readings.push({ ...of, sensor, quantity: "air-temperature", value: celsius });
        if (place === "yard") continue;
        readings.push({ ...of, sensor: "panel", quantity: "panel-temperature", value: celsius - 0.6 });
      }
      follow.committed(await store.append(readings));
    },
    /** A coat on the bonnet of a new car, finished at `finishMs` unless `coat` says otherwise. */
    coat({ job = "J-1", car: name = "Grey van", coat = {} }: ExampleCoat = {}): Coat {
      const panels = [
        { name: "bonnet", substrate: "steel" },
        { name: "roof", substrate: "steel" },
      ] as const;
      const car = records.addCar({ job, name, panels, place: "booth", atMs: finishMs - 30 * minuteMs }, painter);
      const entered = { ...plainCoat, finishedAtMs: finishMs, ...coat };
      return records.addCoats(car.id, entered, painter)[0] as Coat;
    },
    async close() {
      await follow.stop();
      await store.close();
      records.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

/** The limits at the finish, invented: one of each state. */
export const sprayCheck: NonNullable<Coat["sprayCheck"]> = {
  atMs: finishMs,
  place: "booth",
  sheetId: "demo-clear",
  state: "spray with care",
  limits: [
    limit("air temperature", 21.2, 15, 32, "inside"),
    limit("panel temperature", null, 15, 32, "not measured"),
    limit("humidity", 73, null, 75, "close"),
    limit("dew-point margin", 5.4, 3, null, "inside"),
  ],
};

type Limit = NonNullable<Coat["sprayCheck"]>["limits"][number];

function limit(
  what: Limit["what"],
  value: number | null,
  min: number | null,
  max: number | null,
  state: Limit["state"],
): Limit {
  const margins =
    value === null ? [] : [...(min === null ? [] : [value - min]), ...(max === null ? [] : [max - value])];
  return {
    what,
    value,
    min,
    max,
    margin: margins.length === 0 ? null : Math.min(...margins),
    state,
    source: what === "dew-point margin" ? "common practice" : "sheet",
    sensor: value === null ? null : "pi/air",
    readingAtMs: value === null ? null : finishMs,
  };
}
