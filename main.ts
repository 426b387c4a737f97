/** npm start: reads the command line and the shop file, starts a predictor, collectors, lamps, or all, and stops them on a signal. */
import { readFileSync } from "node:fs";
import { hostname } from "node:os";
import { resolve } from "node:path";
import type { Logger } from "pino";
import { dataFolderHere, exportInto, newCollector, newPin, verifyRecords } from "./at-the-machine.ts";
import { Clock } from "./collector/clock.ts";
import { findSensors } from "./collector/find-sensors.ts";
import { startCollectors } from "./collector/main.ts";
import type { BrokerAddress, CollectorSettings } from "./collector/settings.ts";
import { commandLine, type Part, type RunOptions, UsageFault, usage } from "./command-line.ts";
import { startLamps } from "./lamp/main.ts";
import type { LampSettings } from "./lamp/settings.ts";
import { openLog } from "./log.ts";
import { readGroupFile } from "./predictor/head-office/group-file.ts";
import { type Predictor, startPredictor } from "./predictor/main.ts";
import { brokerAddress, readShopFile, type ShopFile } from "./predictor/shop-file.ts";

interface Running {
  stop(): Promise<void>;
}

async function main(): Promise<void> {
  const options = commandLine();
  // What is written is for the account that runs Coatclock alone.
  process.umask(0o077);
  switch (options.task) {
    case "help":
      console.log(usage);
      return;
    case "find-sensors":
      console.log(await findSensors());
      return;
    case "add-collector":
      console.log(newCollector(options.shop, options.collector));
      return;
    case "new-pin":
      console.log(await newPin(options.person, options.asInstaller));
      return;
    case "verify":
      verifyRecords(options);
      return;
    case "export":
      console.log(await exportInto(options));
      return;
    case "copy-readings":
      await (await import("./copy-readings-here.ts")).copyReadingsHere(options.shop, options.to, dataFolderHere());
      return;
    case "run-group":
      await runGroup(options);
      return;
    case "run":
      await runParts(options);
  }
}

async function runParts(options: RunOptions): Promise<void> {
  const logger = openLog(process.env.COATCLOCK_LOG);
  const rehearsal = resolve(import.meta.dirname, "predictor/rehearsal-shop.yaml");
  const shopFile = readShopFile(options.shop ?? rehearsal);
  const version = packageVersion();
  const dataFolder = dataFolderHere();
  const running: Running[] = [];
  const stopAll = async () => {
    for (const part of running.splice(0).reverse()) await part.stop();
  };
  stopOnSignals(stopAll, logger);

  try {
    const clock = new Clock({ trusted: shopFile.trustClock, logger });
    await clock.start();
    running.push({ stop: async () => clock.stop() });
    const starts = (part: Part) => options.only === undefined || options.only === part;
    let broker: BrokerAddress | null = null;
    let sendPast = false;
    if (starts("predictor")) {
      const predictor = await startPredictor({
        shopFile,
        dataFolder,
        httpPort: portFrom(process.env.COATCLOCK_PORT) ?? shopFile.ports.http,
        pagesFolder: resolve(import.meta.dirname, "web"),
        version,
        clockState: () => clock.state(),
        isRehearsal: options.shop === undefined,
        logger,
      });
      running.push(predictor);
      broker = predictor.broker;
      sendPast = predictor.isNew;
      announce(shopFile, predictor);
    }
    broker ??= brokerElsewhere(shopFile);
    if (starts("collector")) {
      running.push(
        await startCollectors({
          shop: shopFile.shop,
          collectors: collectorsHere(shopFile, options),
          broker,
          baseFolder: shopFile.folder,
          shopZone: shopFile.timeZone,
          version,
          sendPast,
          clock,
          cardFolder: dataFolder,
          runFolder: runFolder(dataFolder),
          logger,
        }),
      );
    }
    const lamps = lampsHere(shopFile, options);
    if (starts("lamp")) running.push(startLamps({ shop: shopFile.shop, lamps, broker, logger }));
    if (options.only === "collector") console.log(`Coatclock's collectors run; readings go to ${broker.url}`);
    if (options.only === "lamp") console.log(`Coatclock's lamps run; they listen to ${broker.url}`);
  } catch (error) {
    await stopAll();
    throw error;
  }
}

async function runGroup({ group, isIntakeOnly }: { group: string; isIntakeOnly: boolean }): Promise<void> {
  const logger = openLog(process.env.COATCLOCK_LOG);
  const groupFile = readGroupFile(group);
  const dataFolder = dataFolderHere();
  const { startHeadOffice, startIntake } = await import("./predictor/start-head-office.ts");
  if (isIntakeOnly) {
    const intake = startIntake({ groupFile, dataFolder, logger });
    stopOnSignals(intake.stop, logger);
    console.log(`An intake of ${groupFile.name} runs; readings come by ${intake.broker}`);
    return;
  }
  const clock = new Clock({ trusted: false, logger });
  await clock.start();
  const office = await startHeadOffice({
    groupFile,
    dataFolder,
    httpPort: portFrom(process.env.COATCLOCK_PORT) ?? groupFile.ports.http,
    pagesFolder: resolve(import.meta.dirname, "web"),
    version: packageVersion(),
    clockState: () => clock.state(),
    logger,
  });
  const stop = async () => {
    await office.stop();
    clock.stop();
  };
  stopOnSignals(stop, logger);
  const { httpPort, broker, setUpPath } = office;
  console.log(`The head office of ${groupFile.name}${groupFile.invented ? " (invented)" : ""}`);
  console.log(`  pages     http://${hostname()}:${httpPort}/`);
  if (setUpPath !== null)
    console.log(`  set-up    http://${hostname()}:${httpPort}${setUpPath}   once, for whoever installs`);
  console.log(`  shops     tell what they hold by ${broker}`);
}

/** Which of the shop file's collectors or lamps this process starts: those named, else (beside a predictor) those that do not run elsewhere. */
function namesHere(
  what: "collector" | "lamp",
  entries: Readonly<Record<string, { elsewhere: boolean }>>,
  named: readonly string[],
  only: Part | undefined,
): string[] {
  const unknown = named.find((name) => entries[name] === undefined);
  if (unknown !== undefined) {
    throw new UsageFault(`--${what} ${unknown}: the shop file names ${Object.keys(entries).join(", ") || "none"}`);
  }
  if (only !== what) return Object.keys(entries).filter((name) => entries[name]?.elsewhere === false);
  return named.length > 0 ? [...named] : Object.keys(entries);
}

function collectorsHere({ collectors }: ShopFile, options: RunOptions): Record<string, CollectorSettings> {
  return Object.fromEntries(
    namesHere("collector", collectors, options.collectors, options.only).flatMap((name) => {
      const { sources = [], instruments = {} } = collectors[name] ?? {};
      return sources.length === 0 ? [] : [[name, { sources, instruments }]];
    }),
  );
}

function lampsHere({ lamps }: ShopFile, options: RunOptions): Record<string, LampSettings> {
  const here = namesHere("lamp", lamps, options.lamps, options.only);
  return Object.fromEntries(Object.entries(lamps).filter(([name]) => here.includes(name)));
}

/** The broker of a predictor in another process. */
function brokerElsewhere({ broker, folder }: ShopFile): BrokerAddress {
  if (broker.kind === "embedded" && broker.port === 0) {
    throw new UsageFault("a part alone needs to know the broker's port: set broker.port in the shop file");
  }
  if (broker.kind === "embedded" && broker.listen === "network") {
    throw new UsageFault(
      "the broker that listens to the network asks a part alone for a name and password: make them with --add-collector, " +
        "and start the part with a shop file that names the broker by its address (docs/broker.md)",
    );
  }
  return brokerAddress(broker, broker.kind === "embedded" ? broker.port : 0, folder);
}

function announce(shopFile: ShopFile, { httpPort: port, httpsPort, brokerUrl, setUpPath }: Predictor): void {
  const address = `http://localhost:${port}`;
  const others = httpsPort === null ? `http://${hostname()}:${port}` : `https://${hostname()}:${httpsPort}`;
  console.log(`${shopFile.name}${shopFile.invented ? " (invented shop, invented materials)" : ""}`);
  console.log(`  cars      ${address}/`);
  for (const [id, place] of Object.entries(shopFile.places))
    console.log(`  wall      ${address}/wall/${id}   ${place.name}`);
  console.log(`  all walls ${address}/wall`);
  if (setUpPath !== null) console.log(`  set-up    ${others}${setUpPath}   once, for whoever installs`);
  console.log(`  from other devices on the network: ${others}/`);
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

/** Where a service manager offers a RAM-backed folder that outlives a crash, what waits there for a moment wears no card. */
function runFolder(dataFolder: string): string {
  return process.env.RUNTIME_DIRECTORY?.split(":")[0] || dataFolder;
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
    isOurs ? (error as Error).message : error instanceof Error ? `Coatclock can't go on: ${error.message}` : error,
  );
  process.exit(isOurs ? 2 : 1);
});
