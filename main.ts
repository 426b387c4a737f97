/** npm start: reads the command line and the shop file, starts a predictor, collectors, or both, and stops them on a signal. */
import { readFileSync } from "node:fs";
import { hostname } from "node:os";
import { resolve } from "node:path";
import { parseArgs } from "node:util";
import { type Logger, pino } from "pino";
import { Clock } from "./collector/clock.ts";
import { startCollectors } from "./collector/main.ts";
import { startPredictor } from "./predictor/main.ts";
import { brokerAddress, readShopFile, type ShopFile } from "./predictor/shop-file.ts";

const usage = `npm start -- [--shop FILE] [--only collector|predictor] [--collector NAME …]

  --shop FILE        the shop file; without one, an invented shop rehearses
  --only PART        start only the collectors, or only the predictor
  --collector NAME   with --only collector: which of the shop file's collectors run here (all, unless named)

  COATCLOCK_PORT     where the pages are served (the shop file's ports.http, 8080 unless set)
  COATCLOCK_DATA     folder of the records and readings (./data)
  COATCLOCK_LOG      log level: trace, debug, info, warn, error, silent (info)`;

/** Something the person at the keyboard can put right: told without a stack. */
class UsageFault extends Error {}

interface Running {
  stop(): Promise<void>;
}

async function main(): Promise<void> {
  const options = commandLine();
  if (options === "help") {
    console.log(usage);
    return;
  }
  const logger = pino({ name: "coatclock", level: process.env.COATCLOCK_LOG ?? "info" }, pino.destination(2));
  const rehearsal = resolve(import.meta.dirname, "predictor/rehearsal-shop.yaml");
  const shopFile = readShopFile(options.shop ?? rehearsal);
  const version = packageVersion();
  const running: Running[] = [];
  const stopAll = async () => {
    for (const part of running.splice(0).reverse()) await part.stop();
  };
  stopOnSignals(stopAll, logger);

  try {
    let broker = null;
    let sendPast = false;
    if (options.only !== "collector") {
      const predictor = await startPredictor({
        shopFile,
        dataFolder: resolve(process.env.COATCLOCK_DATA ?? "data"),
        httpPort: portFrom(process.env.COATCLOCK_PORT) ?? shopFile.ports.http,
        pagesFolder: resolve(import.meta.dirname, "web"),
        version,
        clockState: () => new Clock().state(),
        withPainter: options.shop === undefined,
        logger,
      });
      running.push(predictor);
      broker = predictor.broker;
      sendPast = predictor.isNew;
      announce(shopFile, predictor.httpPort, broker.url);
    }
    if (options.only !== "predictor") {
      broker ??= collectorBroker(shopFile);
      running.push(
        startCollectors({
          shop: shopFile.shop,
          collectors: collectorsHere(shopFile, options),
          broker,
          baseFolder: shopFile.folder,
          shopZone: shopFile.timeZone,
          version,
          sendPast,
          logger,
        }),
      );
      if (options.only === "collector") console.log(`Coatclock's collectors run; readings go to ${broker.url}`);
    }
  } catch (error) {
    await stopAll();
    throw error;
  }
}

interface Options {
  shop?: string;
  only?: "collector" | "predictor";
  collectors: string[];
}

function commandLine(): Options | "help" {
  let values: { shop?: string; only?: string; collector?: string[]; help?: boolean };
  try {
    ({ values } = parseArgs({
      options: {
        shop: { type: "string" },
        only: { type: "string" },
        collector: { type: "string", multiple: true },
        help: { type: "boolean", short: "h" },
      },
    }));
  } catch (error) {
    throw new UsageFault(`${(error as Error).message}\n\n${usage}`);
  }
  const { shop, only, collector, help } = values;
  if (help === true) return "help";
  if (only !== undefined && only !== "collector" && only !== "predictor") {
    throw new UsageFault(`--only ${only}: expected collector or predictor\n\n${usage}`);
  }
  if (collector !== undefined && only !== "collector")
    throw new UsageFault(`--collector goes with --only collector\n\n${usage}`);
  if (only !== undefined && shop === undefined)
    throw new UsageFault(`--only needs a shop file: --shop FILE\n\n${usage}`);
  return {
    ...(shop === undefined ? {} : { shop }),
    ...(only === undefined ? {} : { only }),
    collectors: collector ?? [],
  };
}

/** Which collectors this process starts: those named, else (beside a predictor) those that do not run elsewhere. */
function collectorsHere(shopFile: ShopFile, options: Options) {
  const unknown = options.collectors.find((name) => shopFile.collectors[name] === undefined);
  if (unknown !== undefined) {
    throw new UsageFault(`--collector ${unknown}: the shop file names ${Object.keys(shopFile.collectors).join(", ")}`);
  }
  return Object.fromEntries(
    Object.entries(shopFile.collectors)
      .filter(([name, entry]) => {
        if (entry.sources.length === 0) return false;
        if (options.only === "collector") return options.collectors.length === 0 || options.collectors.includes(name);
        return !entry.elsewhere;
      })
      .map(([name, { sources }]) => [name, { sources }]),
  );
}

function collectorBroker(shopFile: ShopFile) {
  if (shopFile.broker.kind === "embedded" && shopFile.broker.port === 0) {
    throw new UsageFault("a collector alone needs to know the broker's port: set broker.port in the shop file");
  }
  return brokerAddress(
    shopFile.broker,
    shopFile.broker.kind === "embedded" ? shopFile.broker.port : 0,
    shopFile.folder,
  );
}

function announce(shopFile: ShopFile, port: number, brokerUrl: string): void {
  const address = `http://localhost:${port}`;
  console.log(`${shopFile.name}${shopFile.invented ? " (invented shop, invented materials)" : ""}`);
  console.log(`  cars      ${address}/`);
  for (const [id, place] of Object.entries(shopFile.places))
    console.log(`  wall      ${address}/wall/${id}   ${place.name}`);
  console.log(`  from other devices on the network: http://${hostname()}:${port}/`);
  console.log(`  readings  ${brokerUrl}, topics coatclock/1/${shopFile.shop}/readings/<collector>`);
}

function portFrom(text: string | undefined): number | undefined {
  if (text === undefined || text === "") return undefined;
  const port = Number(text);
  if (!(Number.isInteger(port) && port >= 0 && port <= 65535)) {
    throw new UsageFault(`COATCLOCK_PORT=${text}: expected a port number from 1 to 65535, or 0 for any free one`);
  }
  return port;
}

function packageVersion(): string {
  // Beside this file when it runs from source, one folder up when compiled.
  for (const folder of [".", ".."]) {
    try {
      const text = readFileSync(resolve(import.meta.dirname, folder, "package.json"), "utf8");
      return (JSON.parse(text) as { version: string }).version;
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== "ENOENT") throw error;
    }
  }
  throw new Error("package.json is missing beside Coatclock");
}

/** The first signal stops cleanly, a second one at once. */
function stopOnSignals(stop: () => Promise<void>, logger: Logger): void {
  let stopping = false;
  for (const signal of ["SIGINT", "SIGTERM"] as const) {
    process.on(signal, () => {
      if (stopping) process.exit(1);
      stopping = true;
      logger.info({ signal }, "stopping");
      stop().then(
        () => process.exit(0),
        (error: unknown) => {
          logger.error({ err: error }, "stopping failed");
          process.exit(1);
        },
      );
    });
  }
}

main().catch((error: unknown) => {
  const isOurs = error instanceof UsageFault || (error instanceof Error && error.name === "FileFaults");
  console.error(
    isOurs ? (error as Error).message : error instanceof Error ? `Coatclock can't start: ${error.message}` : error,
  );
  process.exit(isOurs ? 2 : 1);
});
