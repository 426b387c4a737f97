/** The quality lead's pages over a large shop: 100,000 coats, and a year of twelve quantities read every ten seconds; each answer beside bare SQL. */
import { join } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import Database from "better-sqlite3";
import { type Quantity, quantityNames } from "../../collector/readings.ts";
import { readingsFileName, recordsFileName } from "../../predictor/data-folder.ts";
import type { BookRow } from "../../predictor/proof/book-row.ts";
import { CoatBook } from "../../predictor/proof/coat-book.ts";
import { openSqliteStore } from "../../predictor/readings/sqlite.ts";
import { inventedSheets } from "../../predictor/records/library.ts";
import { type By, program, Records } from "../../predictor/records/records.ts";
import { type Program, startProgram } from "../journeys/program.ts";
import { type BenchRow, benchRow, median } from "./row.ts";
import { startRow } from "./start.ts";

const cars = 20_000;
const coatsOfCar = 5;
const cadenceMs = 10_000;
const dayMs = 24 * 60 * 60_000;
const yearMs = 365 * dayMs;
const runs = 9;
const longMs = 1_000;
const places = ["booth", "prep", "workshop", "yard"] as const;
const painter: By = { who: "an invented painter", role: "painter" };

const shopYaml = `{ shop: large, name: Large invented shop, invented: true, timeZone: Europe/Berlin, broker: { kind: embedded, port: 0 },
  places: { ${places.map((place) => `${place}: { name: ${place}, kind: ${place === "booth" ? "booth" : "workshop"}, sensors: { air-temperature: pi/${place}, air-humidity: pi/${place}, panel-temperature: pi/${place} } }`).join(", ")} },
  collectors: { pi: { elsewhere: true, sensors: [${places.join(", ")}] } } }`;

/** Takes some minutes and 1.2 GB in the temporary folder while it runs. */
export async function logBench(): Promise<BenchRow[]> {
  const endMs = Math.floor(Date.now() / dayMs) * dayMs;
  const startMs = endMs - yearMs;
  let coat = "";
  const rows: BenchRow[] = [];
  const shop = await startProgram(shopYaml, async (dataFolder) => {
    await aYearOfReadings(join(dataFolder, readingsFileName), startMs);
    coat = manyCoats(dataFolder, startMs);
    const args = ["--shop", join(dataFolder, "..", "shop.yaml")];
    rows.push(await startRow("with that year and those coats on disk", () => ({ args, dataFolder })));
  });
  try {
    return [...rows, ...(await measured(shop, coat, endMs))];
  } finally {
    await shop.stop();
  }
}

async function measured(shop: Program, coat: string, endMs: number): Promise<BenchRow[]> {
  const data = join(shop.folder, "data");
  const book = new Database(join(data, "coat-book.db"), { readonly: true });
  const readings = new Database(join(data, readingsFileName), { readonly: true });
  const get = async (path: string) => {
    const response = await fetch(shop.address + path);
    if (!response.ok) throw new Error(`${path}: ${response.status} ${await response.text()}`);
    return response.arrayBuffer();
  };
  const { finishedAtMs, untilMs } = book
    .prepare<[string], { finishedAtMs: number; untilMs: number }>(
      "SELECT finished_at_ms AS finishedAtMs, until_ms AS untilMs FROM coats WHERE coat = ?",
    )
    .get(coat) ?? { finishedAtMs: 0, untilMs: 0 };
  const climateOf = (days: number) =>
    new URLSearchParams({
      from: new Date(endMs - days * dayMs).toISOString(),
      to: new Date(endMs).toISOString(),
      points: "2000",
    }).toString();
  const from90 = new Date(endMs - 90 * dayMs).toISOString();
  const pairs: [name: string, most: number, bare: () => unknown, ours: () => Promise<unknown>][] = [
    [
      "chart: a week of a place's three lines over HTTP",
      2,
      () => bareThinned(readings, endMs - 7 * dayMs, endMs),
      () => get(`/api/places/booth/climate?${climateOf(7)}`),
    ],
    [
      "chart: the year of a place's three lines over HTTP",
      2,
      () => bareThinned(readings, endMs - 365 * dayMs, endMs),
      () => get(`/api/places/booth/climate?${climateOf(365)}`),
    ],
    [
      "log: first page of 100,000 coats",
      5,
      () => [
        book.prepare("SELECT count(*) FROM coats").get(),
        book.prepare("SELECT * FROM coats ORDER BY finished_at_ms DESC, coat DESC LIMIT 50").all(),
      ],
      () => get("/api/log"),
    ],
    [
      "log: filtered by car and open deviations, sorted by them",
      3,
      () => [
        book
          .prepare("SELECT count(*) FROM coats WHERE open_deviations > 0 AND (job LIKE '%77%' OR car LIKE '%77%')")
          .get(),
        book
          .prepare(
            "SELECT * FROM coats WHERE open_deviations > 0 AND (job LIKE '%77%' OR car LIKE '%77%') ORDER BY open_deviations DESC, deviation_count DESC, finished_at_ms DESC LIMIT 50",
          )
          .all(),
      ],
      () => get("/api/log?car=77&deviation=open&sort=deviations"),
    ],
    [
      "log: all 100,000 coats as CSV",
      4,
      () => book.prepare("SELECT * FROM coats ORDER BY finished_at_ms DESC, coat DESC").all(),
      () => get("/api/log.csv"),
    ],
    [
      "log: one coat's file and course",
      12,
      () => bareCoat(readings, finishedAtMs, untilMs),
      async () => [await get(`/api/coats/${coat}/file`), await get(`/api/coats/${coat}/course`)],
    ],
    [
      "log: the statistics of 90 days",
      40,
      () =>
        book
          .prepare("SELECT figures FROM coats WHERE finished_at_ms >= ? AND is_withdrawn = 0")
          .all(endMs - 90 * dayMs),
      () => get(`/api/predictions?from=${from90}&to=${new Date(endMs).toISOString()}`),
    ],
  ];
  const rows: BenchRow[] = [];
  for (const [name, most, bare, ours] of pairs) {
    const times: { bare: number[]; ours: number[] } = { bare: [], ours: [] };
    for (let run = 0; run < runs; run++) {
      const startedMs = performance.now();
      bare();
      const bareMs = performance.now() - startedMs;
      // A connection that the server gave up during a long statement is noticed only now.
      await delay(20);
      const askedMs = performance.now();
      await get("/api/places");
      const betweenMs = performance.now();
      await ours();
      times.bare.push(bareMs + betweenMs - askedMs);
      const oursMs = performance.now() - betweenMs;
      times.ours.push(oursMs);
      // Of what takes long, three runs are enough.
      if (run === 2 && bareMs + oursMs > longMs) break;
    }
    const figures = { floorValue: median(times.bare), value: median(times.ours), unit: "ms" };
    rows.push(
      benchRow({ name, floor: "the same rows by bare SQL, and a small answer over HTTP", ...figures }, { most }),
    );
  }
  book.close();
  readings.close();
  return rows;
}

const bareCoat = (readings: Database.Database, fromMs: number, toMs: number) =>
  [1, 2, 3].map((series) =>
    readings
      .prepare("SELECT at_ms, value FROM readings WHERE series = ? AND at_ms >= ? AND at_ms < ?")
      .all(series, fromMs, toMs),
  );

/** Minima, maxima and means of 2,000 stretches. */
const bareThinned = (readings: Database.Database, fromMs: number, toMs: number) =>
  [1, 2, 3].map((series) =>
    readings
      .prepare(
        `SELECT at_ms / ${Math.ceil((toMs - fromMs) / 2000)} AS bucket, min(value), max(value), avg(value)
         FROM readings WHERE series = ? AND at_ms >= ? AND at_ms < ? GROUP BY bucket`,
      )
      .all(series, fromMs, toMs),
  );

/** 37.8 million readings, written as fast as SQLite takes them. */
async function aYearOfReadings(file: string, startMs: number): Promise<void> {
  const quantities: Quantity[] = ["air-temperature", "air-humidity", "panel-temperature"];
  if (!quantities.every((quantity) => quantityNames.includes(quantity))) throw new Error("quantities have other names");
  const store = openSqliteStore(file);
  // The store itself makes the tables and the lines.
  for (const place of places) {
    await store.append(
      quantities.map((quantity) => ({ collector: "pi", sensor: place, quantity, atMs: startMs, value: 20 })),
    );
  }
  await store.close();
  const db = new Database(file);
  db.pragma("journal_mode = OFF");
  db.pragma("synchronous = OFF");
  const base = "CASE (SELECT quantity FROM series WHERE id = @series) WHEN 'air-humidity' THEN 50 ELSE 20 END";
  const fill = db.prepare(
    `WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < @count)
     INSERT OR IGNORE INTO readings (series, at_ms, value)
     SELECT CAST(@series AS INTEGER), CAST(@startMs AS INTEGER) + i * ${cadenceMs}, ${base} + (i % 360) / 360.0 FROM n`,
  );
  for (let series = 1; series <= places.length * quantities.length; series++) {
    fill.run({ series, startMs, count: Math.floor(yearMs / cadenceMs) });
  }
  db.pragma("journal_mode = WAL");
  db.close();
}

/** Cars that came, got their coats and left again; the id of a coat in the middle of the year. */
function manyCoats(dataFolder: string, startMs: number): string {
  let nowMs = startMs;
  const records = new Records({
    file: join(dataFolder, recordsFileName),
    now: () => nowMs,
    clock: () => "synchronised",
  });
  for (const sheet of inventedSheets()) records.keepSheet(sheet, program);
  const book = new CoatBook(join(dataFolder, "coat-book.db"), startMs);
  const sheet = records.sheets().find(({ id }) => id === "demo-clear");
  if (sheet === undefined) throw new Error("the invented sheets have no demo-clear");
  let middle = "";
  const gapMs = (yearMs - dayMs) / cars;
  let rows: BookRow[] = [];
  for (let n = 0; n < cars; n++) {
    const cameMs = Math.floor(startMs + n * gapMs);
    nowMs = cameMs;
    const panels = [{ name: "bonnet", substrate: "steel" }] as const;
    const car = records.addCar(
      { job: `J-${n}`, name: `Invented car ${n % 997}`, panels, place: "booth", atMs: cameMs },
      painter,
    );
    for (let k = 0; k < coatsOfCar; k++) {
      const finishedAtMs = cameMs + (k + 1) * 90 * 60_000;
      nowMs = finishedAtMs;
      const entered = { sheetId: sheet.id, filmUm: null, panelAtFinishC: null, batches: [], sprayCheck: null };
      const [coat] = records.addCoats(car.id, { ...entered, panels: ["bonnet"], finishedAtMs }, painter);
      if (coat === undefined) throw new Error("no coat");
      if (n === cars / 2 && k === 2) middle = coat.id;
      rows.push(rowOf(car, coat.id, sheet, finishedAtMs, n * coatsOfCar + k));
    }
    nowMs = cameMs + 10 * 60 * 60_000;
    records.addMove(car.id, null, nowMs, painter);
    if (rows.length >= 5_000 || n === cars - 1) {
      book.put(rows);
      rows = [];
    }
  }
  book.saw(records.head()?.seq ?? 0);
  book.close();
  records.close();
  return middle;
}

function rowOf(
  car: { id: string; job: string; name: string },
  coat: string,
  sheet: { id: string; revision: number; name: string; kind: string },
  finishedAtMs: number,
  n: number,
): BookRow {
  const safeAtMs = finishedAtMs + 60 * 60_000;
  const spread = { min: 20, mean: 20.5, max: 21, minutesOutside: 0 };
  const code = n % 10 === 0 ? "gap" : "limits-not-judged";
  return {
    shop: "large",
    coat,
    carId: car.id,
    job: car.job,
    car: car.name,
    panels: ["bonnet"],
    sheetId: sheet.id,
    sheetRevision: sheet.revision,
    sheetName: sheet.name,
    kind: sheet.kind,
    invented: true,
    place: "booth",
    who: painter.who,
    finishedAtMs,
    safeAtMs,
    verdict: n % 3 === 0 ? "released" : null,
    isWithdrawn: false,
    deviations: [{ code, isAnswered: n % 3 === 0 }],
    figures: {
      releaseStage: "polish",
      untilMs: safeAtMs,
      isOver: true,
      airC: spread,
      panelC: spread,
      rhPercent: { ...spread, min: 50, mean: 50.5, max: 51 },
      dewMarginC: spread,
      gapMinutes: code === "gap" ? 12 : 0,
      stages: [{ stage: "polish", likelyAtMs: safeAtMs, safeAtMs, readyCheckedAtMs: null, notYetCheckedAtMs: null }],
      coveredAtMs: n % coatsOfCar === coatsOfCar - 1 ? null : finishedAtMs + 90 * 60_000,
      waitedMinutes: 30,
      deviations: [code],
    },
  };
}
