/** Wires the predictor's parts together; nothing else. */
import { mkdirSync } from "node:fs";
import { hostname } from "node:os";
import { join, resolve } from "node:path";
import type { Logger } from "pino";
import { type ClockState, isBelieved, topicsOf } from "../collector/readings.ts";
import type { BrokerAddress } from "../collector/settings.ts";
import { wordsOf } from "../words/words.ts";
import { recordsFileName } from "./data-folder.ts";
import { Comparisons } from "./follow/comparisons.ts";
import { Follow } from "./follow/follow.ts";
import { Keeping } from "./follow/keeping.ts";
import { Pots } from "./follow/pots.ts";
import { SprayChecks } from "./follow/spray-checks.ts";
import { StartBys } from "./follow/start-bys.ts";
import { describeShop } from "./onward/describe.ts";
import { Onward } from "./onward/onward.ts";
import { People, peopleFileName } from "./people/people.ts";
import { BookKeeper } from "./proof/book-keeper.ts";
import { Certificates } from "./proof/certificates.ts";
import { CoatBook } from "./proof/coat-book.ts";
import { Coverage } from "./proof/coverage.ts";
import { type EmbeddedBroker, startEmbeddedBroker } from "./readings/broker.ts";
import { readCertificate } from "./readings/certificate.ts";
import { Credentials, credentialsFileName } from "./readings/credentials.ts";
import { Intake } from "./readings/intake.ts";
import { linkBroker } from "./readings/link.ts";
import { ofCollectors } from "./readings/reading-of.ts";
import { startTimeSignal } from "./readings/time-signal.ts";
import { ChainWatch } from "./records/chain-watch.ts";
import { inventedSheets, readSheetFile } from "./records/library.ts";
import { program, Records } from "./records/records.ts";
import { startWitness } from "./records/witness.ts";
import { RehearsalPainter } from "./rehearsal-painter.ts";
import { Metrics } from "./serve/metrics.ts";
import { pagesVersion } from "./serve/pages-version.ts";
import { startServer } from "./serve/server.ts";
import { Views } from "./serve/views.ts";
import {
  type BrokerSettings,
  brokerAddress,
  type EmbeddedSettings,
  notifySecrets,
  type ShopFile,
  sheetsNamed,
} from "./shop-file.ts";
import { instrumentsOf } from "./shop-instruments.ts";
import { openShopStore } from "./shop-store.ts";
import { shopTimeOf } from "./shop-time.ts";
import { EquipmentWatch } from "./warnings/equipment-watch.ts";
import { Notify } from "./warnings/notify.ts";
import { startRetaining } from "./warnings/retain.ts";
import { Warnings } from "./warnings/warnings.ts";

export interface PredictorOptions {
  shopFile: ShopFile;
  dataFolder: string;
  httpPort: number;
  pagesFolder: string;
  version: string;
  clockState: () => ClockState;
  /** The rehearsal shop: an invented painter works here, and invented people can sign in. */
  isRehearsal: boolean;
  logger: Logger;
}

export interface Predictor {
  httpPort: number;
  /** Where the network finds the pages, when it does by HTTPS; null otherwise. */
  httpsPort: number | null;
  /** How this program's own parts reach the broker. */
  broker: BrokerAddress;
  /** Where others find it. */
  brokerUrl: string;
  /** Nothing of this shop was stored before this start. */
  isNew: boolean;
  /** Path of the set-up page while nobody is there to sign in; null afterwards. */
  setUpPath: string | null;
  stop(): Promise<void>;
}

/** Of everyone in the rehearsal shop; told on its sign-in page. */
const invitedPin = "7294";

export async function startPredictor(options: PredictorOptions): Promise<Predictor> {
  const { shopFile, logger, version, clockState } = options;
  const now = Date.now;
  const words = wordsOf(shopFile);
  const startedAtMs = now();
  // What has been started is stopped in the opposite order, at the end or when a later part fails to start.
  const stops: (() => Promise<void> | void)[] = [];
  const stop = async () => {
    for (const each of stops.splice(0).reverse()) await each();
  };

  try {
    mkdirSync(options.dataFolder, { recursive: true });
    const recordsFile = join(options.dataFolder, recordsFileName);
    const records = new Records({ file: recordsFile, now, clock: clockState });
    stops.push(() => records.close());
    const ownSheets = shopFile.sheetFiles.flatMap((file) => readSheetFile(resolve(shopFile.folder, file)));
    for (const sheet of [...inventedSheets(), ...ownSheets]) records.keepSheet(sheet, program);
    refuseUnknownSheets(shopFile, records);
    for (const { line, setting } of instrumentsOf(shopFile)) records.setInstrument(line, setting, program);

    const chain = new ChainWatch({ file: recordsFile, onChange: (fault) => logChain(logger, fault) });
    chain.start();
    stops.push(() => chain.stop());
    const rehearsalPin = options.isRehearsal ? invitedPin : null;
    const people = await People.open({ file: join(options.dataFolder, peopleFileName), records, now, rehearsalPin });
    stops.push(() => people.close());

    const { store, damage, waiting, queue } = await openShopStore({ shopFile, dataFolder: options.dataFolder, logger });
    stops.push(() => store.close());
    if (damage !== null) logger.error({ damage }, "the readings' file was damaged");
    const isNew = (await store.series()).length === 0;

    const shopTime = shopTimeOf(shopFile);
    const follow = new Follow({ store, records, shopFile, offsetMs: shopTime.offsetMs, now, logger });
    await follow.start();
    stops.push(() => follow.stop());

    const pots = new Pots({ store, records, places: shopFile.places, follow, now, logger });
    await pots.start();
    stops.push(() => pots.stop());
    const sprayChecks = new SprayChecks({ shopFile, store, follow, records, now });
    const startBys = new StartBys({ shopFile, records, follow, shopTime, now, logger });
    startBys.start();
    stops.push(() => startBys.stop());

    const comparisons = new Comparisons(store, shopFile.places);
    await comparisons.start(now);
    const coverage = new Coverage({ store, places: shopFile.places, shopTime, now });

    const book = new CoatBook(join(options.dataFolder, "coat-book.db"), now());
    stops.push(() => book.close());
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
    stops.push(() => bookKeeper.stop());
    const { keepRawDays } = shopFile.readings;
    if (keepRawDays !== undefined) {
      const isClockBelieved = () => isBelieved(clockState());
      const keeping = new Keeping({ store, records, follow, keepRawDays, now, isClockBelieved, logger });
      keeping.start();
      stops.push(() => keeping.stop());
    }

    let embedded: EmbeddedBroker | null = null;
    if (shopFile.broker.kind === "embedded") {
      embedded = await startEmbeddedBroker({
        ...embeddedBrokerOptions(shopFile.broker, shopFile.folder, options.dataFolder),
        shop: shopFile.shop,
        logger,
      });
      stops.push(embedded.stop);
    }
    const broker = embedded?.own ?? brokerAddress(shopFile.broker, 0, shopFile.folder);
    const brokerUrl = embedded === null ? broker.url : urlForOthers(shopFile.broker, embedded.port);

    const metrics = new Metrics();
    let onward: Onward | null = null;
    if (shopFile.headOffice !== undefined && queue !== null) {
      const address = brokerAddress(shopFile.headOffice.broker, 0, shopFile.folder);
      onward = new Onward({ description: describeShop(shopFile), broker: address, queue, records, book, logger });
      onward.start();
      stops.push(() => onward?.stop());
    }

    const intake: Intake = new Intake({
      ...ofCollectors,
      store,
      now,
      logger,
      isClockBelieved: () => isBelieved(clockState()),
      onCommitted: (readings) => {
        comparisons.committed(readings);
        coverage.committed(readings);
        const fromMs = performance.now();
        follow.committed(readings);
        metrics.followed(readings.length, performance.now() - fromMs);
        onward?.committed();
      },
      onAppended: (tookMs) => metrics.committed(tookMs),
      sendReceipt: (...receipt) => link.sendReceipt(...receipt),
    });
    const link = linkBroker({ shop: shopFile.shop, broker, logger, onPack: (...message) => intake.accept(...message) });
    stops.push(link.stop, () => intake.stop());
    stops.push(startTimeSignal({ link, topic: topicsOf(shopFile.shop).time, now, clockState }));

    const collectors = () => link.collectors();
    const storeFault = () => intake.state().storeFault;
    const equipment = new EquipmentWatch({
      shopFile,
      follow,
      comparisons,
      collectors,
      clockState,
      storeFault,
      storeAway: () => waiting()?.awaySinceMs != null,
      recordsFault: () => chain.fault(),
      shopTime,
      now,
    });
    const warnings = new Warnings({ shopFile, follow, records, pots, equipment, shopTime, now, words, logger });
    warnings.start();
    stops.push(() => warnings.stop());

    let httpPort = options.httpPort;
    let httpsPort = shopFile.https?.port ?? null;
    const address = () =>
      shopFile.address ?? `${httpsPort === null ? "http" : "https"}://${hostname()}:${httpsPort ?? httpPort}`;
    const views = new Views({ shopFile, follow, records, warnings, pots, startBys, shopTime, now, address });
    const certifying = { records, store, follow, shopFile, address, now, version };
    const certificates = new Certificates(certifying, options.dataFolder);
    let notify: Notify | null = null;
    if (shopFile.notify !== undefined) {
      const { shop: id, name, invented } = shopFile;
      const settings = shopFile.notify;
      notify = new Notify({ settings, secrets: notifySecrets(shopFile), shop: { id, name, invented }, words, logger });
      stops.push(() => notify?.stop());
    }
    const server = await startServer({
      shopFile,
      store,
      records,
      people,
      warnings,
      book,
      bookKeeper,
      certificates,
      sprayChecks,
      comparisons,
      coverage,
      equipment,
      follow,
      views,
      pots,
      startBys,
      link,
      now,
      version,
      pagesVersion: pagesVersion(options.pagesFolder),
      startedAtMs,
      metrics,
      logger,
      port: options.httpPort,
      tls: httpsOptions(shopFile),
      pagesFolder: options.pagesFolder,
      brokerUrl,
      brokerRefusals: () => embedded?.refusals() ?? null,
      intakeState: () => intake.state(),
      storeDamage: damage,
      storeWaiting: waiting,
      recordsFault: () => chain.fault(),
      notifyState: () => notify?.state() ?? [],
      onwardState: () => onward?.state() ?? null,
      clockState,
    });
    httpPort = server.port;
    httpsPort = server.httpsPort;
    stops.push(() => server.stop());
    stops.push(warnings.onChange((place) => server.stream.changed({ places: new Set([place]), readings: [] })));
    stops.push(
      warnings.onNotice((notice) => {
        server.stream.notice(notice);
        notify?.take(notice);
      }),
    );
    const topics = topicsOf(shopFile.shop);
    stops.push(startRetaining({ shopFile, follow, warnings, link, topics, words }));
    const { retain } = link;
    stops.push(startWitness({ records, retain, topic: topics.recordsHead, now }));

    if (options.isRehearsal) {
      const painter = new RehearsalPainter({ records, follow, now });
      painter.start();
      stops.push(() => painter.stop());
    }
    const setUpToken = people.setUpToken();
    const setUpPath = setUpToken === null ? null : `/set-up?token=${setUpToken}`;
    return { httpPort, httpsPort, broker, brokerUrl, isNew, setUpPath, stop };
  } catch (error) {
    await stop();
    throw error;
  }
}

/** Reads the files that the settings name; throws where they can't serve. */
function embeddedBrokerOptions(settings: EmbeddedSettings, folder: string, dataFolder: string) {
  const { port, anyPortIfTaken, listen, certFile, keyFile } = settings;
  const hasCertificate = certFile !== undefined && keyFile !== undefined;
  return {
    port,
    anyPortIfTaken,
    listen,
    ...(hasCertificate ? { tls: readCertificate(resolve(folder, certFile), resolve(folder, keyFile)) } : {}),
    credentials: listen === "network" ? new Credentials(join(dataFolder, credentialsFileName)) : null,
  };
}

/** Reads the files that the settings name; throws where they can't serve. */
function httpsOptions({ https, folder }: ShopFile) {
  if (https === undefined) return null;
  const { port, certFile, keyFile } = https;
  return { port, tls: readCertificate(resolve(folder, certFile), resolve(folder, keyFile), "https") };
}

function urlForOthers(settings: BrokerSettings, port: number): string {
  if (settings.kind === "address") return settings.url;
  const host = settings.listen === "network" ? hostname() : "127.0.0.1";
  return `${settings.certFile === undefined ? "mqtt" : "mqtts"}://${host}:${port}`;
}

function logChain(logger: Logger, fault: string | null): void {
  if (fault === null) logger.info("the records' log is sound again");
  else logger.error({ fault }, "the records' log is not what was entered: see docs/records.md");
}

function refuseUnknownSheets(shopFile: ShopFile, records: Records): void {
  const known = records.sheets().map((sheet) => sheet.id);
  const unknown = sheetsNamed(shopFile)
    .filter(({ id }) => !known.includes(id))
    .map(({ path, id }) => `${path}: expected ${known.join(" or ")}, found "${id}"`);
  if (unknown.length > 0) throw new Error(`the shop file names sheets that there are not:\n${unknown.join("\n")}`);
}
