/** A whole predictor but for the broker, served on a free port, for the tests of the API. */

import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pino } from "pino";
import { topicsOf } from "../collector/readings.ts";
import { Comparisons } from "../predictor/follow/comparisons.ts";
import { Follow } from "../predictor/follow/follow.ts";
import { Pots } from "../predictor/follow/pots.ts";
import { SprayChecks } from "../predictor/follow/spray-checks.ts";
import { StartBys } from "../predictor/follow/start-bys.ts";
import { People, type Role } from "../predictor/people/people.ts";
import { BookKeeper } from "../predictor/proof/book-keeper.ts";
import { Certificates } from "../predictor/proof/certificates.ts";
import { CoatBook } from "../predictor/proof/coat-book.ts";
import { Coverage } from "../predictor/proof/coverage.ts";
import { Intake } from "../predictor/readings/intake.ts";
import { ofCollectors } from "../predictor/readings/reading-of.ts";
import { openSqliteStore } from "../predictor/readings/sqlite.ts";
import { inventedSheets } from "../predictor/records/library.ts";
import { program, Records } from "../predictor/records/records.ts";
import { Metrics } from "../predictor/serve/metrics.ts";
import { type Server, type ServerParts, startServer } from "../predictor/serve/server.ts";
import { Views } from "../predictor/serve/views.ts";
import { readShopFile } from "../predictor/shop-file.ts";
import { instrumentsOf } from "../predictor/shop-instruments.ts";
import { shopTimeOf } from "../predictor/shop-time.ts";
import { EquipmentWatch } from "../predictor/warnings/equipment-watch.ts";
import { Warnings } from "../predictor/warnings/warnings.ts";
import { wordsOf } from "../words/words.ts";

export type ServedShop = Awaited<ReturnType<typeof openShop>>;

interface MoreOfPlaces {
  /** Further keys of the booth, and those of the collector, as YAML. */
  booth?: string;
  collector?: string;
  /** A folder of built pages; stand-ins without one. */
  builtPages?: string;
  /** For HTTPS beside. */
  tls?: ServerParts["tls"];
}

/** Packs are handed to the intake as the link to the broker would. */
export async function openShop(
  more = "",
  { booth = "", collector = "sensors: [air, yard]", builtPages, tls = null }: MoreOfPlaces = {},
) {
  const folder = mkdtempSync(join(tmpdir(), "coatclock-serve-"));
  const file = join(folder, "shop.yaml");
  writeFileSync(
    file,
    `{ shop: tested, name: Tested shop, timeZone: Europe/Berlin,
       places: { booth: { name: Booth, kind: booth, sheets: [demo-clear], sensors: { air-temperature: pi/air, air-humidity: pi/air }, ${booth} },
                 yard: { name: Yard, kind: yard, sensors: { air-temperature: pi/yard } } },
       collectors: { pi: { elsewhere: true, ${collector} } }${more} }`,
  );
  const shopFile = readShopFile(file);
  const logger = pino({ level: "silent" });
  const now = Date.now;
  const version = "0.0.0-test";
  const words = wordsOf(shopFile);
  const records = new Records({ file: ":memory:", now, clock: () => "synchronised" });
  for (const sheet of inventedSheets()) records.keepSheet(sheet, program);
  const people = await People.open({ file: ":memory:", records, now, rehearsalPin: testPin });
  const store = openSqliteStore(":memory:");
  const shopTime = shopTimeOf(shopFile);
  const follow = new Follow({ store, records, shopFile, offsetMs: shopTime.offsetMs, now, logger });
  await follow.start();
  const pots = new Pots({ store, records, places: shopFile.places, follow, now, logger });
  await pots.start();
  const startBys = new StartBys({ shopFile, records, follow, shopTime, now, logger });
  startBys.start();
  const comparisons = new Comparisons(store, shopFile.places);
  const coverage = new Coverage({ store, places: shopFile.places, shopTime, now });
  for (const { line, setting } of instrumentsOf(shopFile)) records.setInstrument(line, setting, program);
  const equipment = new EquipmentWatch({
    shopFile,
    follow,
    comparisons,
    collectors: () => new Map(),
    clockState: () => "synchronised",
    storeFault: () => null,
    storeAway: () => false,
    recordsFault: () => null,
    shopTime,
    now,
  });
  const warnings = new Warnings({ shopFile, follow, records, pots, equipment, shopTime, now, words, logger });
  const book = new CoatBook(":memory:", now());
  const bookKeeper = new BookKeeper({
    shop: shopFile.shop,
    book,
    records,
    follow,
    store,
    places: shopFile.places,
    now,
    logger,
  });
  bookKeeper.start();
  const metrics = new Metrics();
  const intake = new Intake({
    ...ofCollectors,
    store,
    now,
    logger,
    isClockBelieved: () => true,
    onCommitted: (fresh) => {
      comparisons.committed(fresh);
      coverage.committed(fresh);
      follow.committed(fresh);
      metrics.followed(fresh.length, 1);
    },
    onAppended: (tookMs) => metrics.committed(tookMs),
    sendReceipt: () => undefined,
  });
  const pages = builtPages ?? standInPages(join(folder, "pages"));
  const address = () => "http://shop.local";
  const certifying = { records, store, follow, shopFile, address, now, version };
  const server: Server = await startServer({
    certificates: new Certificates(certifying, folder),
    shopFile,
    store,
    records,
    follow,
    now,
    logger,
    pots,
    startBys,
    views: new Views({
      shopFile,
      follow,
      records,
      warnings,
      pots,
      startBys,
      shopTime,
      now,
      address,
    }),
    people,
    warnings,
    book,
    bookKeeper,
    comparisons,
    coverage,
    equipment,
    sprayChecks: new SprayChecks({ shopFile, store, follow, records, now }),
    link: {
      connected: () => true,
      collectors: () => new Map(),
      sendReceipt: () => undefined,
      receiptsSent: () => 0,
      say: () => undefined,
      retain: () => undefined,
      stop: async () => undefined,
    },
    metrics,
    version,
    pagesVersion: "1",
    recordsFault: () => null,
    notifyState: () => [],
    onwardState: () => null,
    startedAtMs: now(),
    port: 0,
    tls,
    pagesFolder: pages,
    brokerUrl: "mqtt://none",
    brokerRefusals: () => null,
    intakeState: () => intake.state(),
    storeDamage: store.damage,
    storeWaiting: () => null,
    clockState: () => "synchronised",
  });
  const base = `http://127.0.0.1:${server.port}`;
  const cookies: Record<Role, string> = {
    painter: await signIn(base, "Painter A"),
    quality: await signIn(base, "Quality A"),
    installer: await signIn(base, "Installer A"),
  };
  return {
    base,
    cookies,
    pagesFolder: pages,
    people,
    records,
    server,
    warnings,
    send: (pack: object[]) => intake.accept(topicsOf("tested").readings("pi"), Buffer.from(JSON.stringify(pack))),
    sendRaw: (text: string) => intake.accept(topicsOf("tested").readings("pi"), Buffer.from(text)),
    async close() {
      await server.stop();
      await intake.stop();
      await startBys.stop();
      pots.stop();
      await bookKeeper.stop();
      book.close();
      await follow.stop();
      await store.close();
      people.close();
      records.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

function standInPages(folder: string): string {
  mkdirSync(join(folder, "assets"), { recursive: true });
  for (const [file, title] of [
    ["index", "cars"],
    ["wall", "wall"],
    ["desk", "desk"],
  ]) {
    writeFileSync(join(folder, `${file}.html`), `<title>${title}</title>`);
  }
  return folder;
}

/** Temperature and humidity of the booth, `t` seconds from now. */
export const air = (v: number, rh: number, t = 0) => [
  { bn: "pi/air/", t, n: "air-humidity", u: "%RH", v: rh },
  { n: "air-temperature", u: "Cel", t, v },
];

/** The PIN of everyone here. */
export const testPin = "7294";

/** Signs in as a person would, and gives the cookies. */
export async function signIn(base: string, name: string, pin = testPin): Promise<string> {
  const response = await fetch(`${base}/api/sign-in`, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify({ name, pin }),
  });
  if (!response.ok) throw new Error(`signing in as ${name}: ${response.status} ${await response.text()}`);
  return response.headers
    .getSetCookie()
    .map((cookie) => cookie.split(";")[0])
    .join("; ");
}

/** Asks the API, as the painter unless other cookies are given; a body makes it a POST unless a method is named. */
export async function ask(
  { base, cookies }: ServedShop,
  path: string,
  body?: unknown,
  method = body === undefined ? "GET" : "POST",
  headers: Record<string, string> = {},
) {
  const response = await fetch(base + path, {
    method,
    headers: {
      cookie: cookies.painter,
      ...(body === undefined ? {} : { "content-type": "application/json" }),
      ...headers,
    },
    ...(body === undefined ? {} : { body: typeof body === "string" ? body : JSON.stringify(body) }),
  });
  return { status: response.status, headers: response.headers, body: (await response.json()) as unknown };
}
