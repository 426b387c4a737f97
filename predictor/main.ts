/** Wires the predictor's parts together; nothing else. */
import { mkdirSync } from "node:fs";
import { join, resolve } from "node:path";
import type { Logger } from "pino";
import { type CollectorState, topicsOf } from "../collector/readings.ts";
import type { BrokerAddress } from "../collector/settings.ts";
import { Follow } from "./follow/follow.ts";
import { Pots } from "./follow/pots.ts";
import { StartBys } from "./follow/start-bys.ts";
import { type EmbeddedBroker, startEmbeddedBroker } from "./readings/broker.ts";
import { Intake } from "./readings/intake.ts";
import { linkBroker } from "./readings/link.ts";
import { openSqliteStore } from "./readings/sqlite.ts";
import { inventedSheets, readSheetFile } from "./records/library.ts";
import { Records } from "./records/records.ts";
import { RehearsalPainter } from "./rehearsal-painter.ts";
import { startServer } from "./serve/server.ts";
import { Views } from "./serve/views.ts";
import { brokerAddress, type ShopFile, sheetsNamed } from "./shop-file.ts";
import { shopTimeOf } from "./shop-time.ts";
import { startRetaining } from "./warnings/retain.ts";
import { Warnings } from "./warnings/warnings.ts";
import { wordsOf } from "./words.ts";

export interface PredictorOptions {
  shopFile: ShopFile;
  dataFolder: string;
  httpPort: number;
  pagesFolder: string;
  version: string;
  clockState: () => CollectorState["clock"];
  /** Whether the invented painter works here; of use in the rehearsal shop only. */
  withPainter: boolean;
  logger: Logger;
}

export interface Predictor {
  httpPort: number;
  broker: BrokerAddress;
  /** Nothing of this shop was stored before this start. */
  isNew: boolean;
  stop(): Promise<void>;
}

export async function startPredictor(options: PredictorOptions): Promise<Predictor> {
  const { shopFile, logger, version } = options;
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
    const records = new Records(join(options.dataFolder, "records.db"));
    stops.push(() => records.close());
    const ownSheets = shopFile.sheetFiles.flatMap((file) => readSheetFile(resolve(shopFile.folder, file)));
    for (const sheet of [...inventedSheets(), ...ownSheets]) records.keepSheet(sheet);
    refuseUnknownSheets(shopFile, records);

    const store = openSqliteStore(join(options.dataFolder, "readings.db"));
    stops.push(() => store.close());
    const isNew = (await store.series()).length === 0;

    const shopTime = shopTimeOf(shopFile);
    const follow = new Follow({ store, records, shopFile, offsetMs: shopTime.offsetMs, now, logger });
    await follow.start();
    stops.push(() => follow.stop());

    const pots = new Pots({ store, records, places: shopFile.places, follow, now, logger });
    await pots.start();
    stops.push(() => pots.stop());
    const startBys = new StartBys({ shopFile, records, follow, shopTime, now, logger });
    startBys.start();
    stops.push(() => startBys.stop());

    const warnings = new Warnings({ shopFile, follow, records, pots, shopTime, now, words });
    warnings.start();
    stops.push(() => warnings.stop());

    let embedded: EmbeddedBroker | null = null;
    if (shopFile.broker.kind === "embedded") {
      embedded = await startEmbeddedBroker(shopFile.broker.port, shopFile.broker.anyPortIfTaken);
      stops.push(embedded.stop);
    }
    const broker = brokerAddress(shopFile.broker, embedded?.port ?? 0, shopFile.folder);

    const intake: Intake = new Intake({
      store,
      now,
      logger,
      onCommitted: (readings) => follow.committed(readings),
      sendReceipt: (...receipt) => link.sendReceipt(...receipt),
    });
    const link = linkBroker({ shop: shopFile.shop, broker, logger, onPack: (...message) => intake.accept(...message) });
    stops.push(link.stop, () => intake.stop());

    const views = new Views({ shopFile, follow, records, warnings, pots, startBys, shopTime, now, words });
    const server = await startServer({
      shopFile,
      store,
      records,
      follow,
      views,
      pots,
      startBys,
      link,
      now,
      version,
      startedAtMs,
      logger,
      port: options.httpPort,
      pagesFolder: options.pagesFolder,
      brokerUrl: broker.url,
      intakeState: () => intake.state(),
      clockState: options.clockState,
    });
    stops.push(() => server.stop());
    stops.push(warnings.onChange((place) => server.stream.changed({ places: new Set([place]), readings: [] })));
    stops.push(startRetaining({ shopFile, follow, warnings, link, topics: topicsOf(shopFile.shop) }));

    if (options.withPainter) {
      const painter = new RehearsalPainter({ records, follow, now });
      painter.start();
      stops.push(() => painter.stop());
    }
    return { httpPort: server.port, broker, isNew, stop };
  } catch (error) {
    await stop();
    throw error;
  }
}

function refuseUnknownSheets(shopFile: ShopFile, records: Records): void {
  const known = records.sheets().map((sheet) => sheet.id);
  const unknown = sheetsNamed(shopFile)
    .filter(({ id }) => !known.includes(id))
    .map(({ path, id }) => `${path}: expected ${known.join(" or ")}, found "${id}"`);
  if (unknown.length > 0) throw new Error(`the shop file names sheets that there are not:\n${unknown.join("\n")}`);
}
