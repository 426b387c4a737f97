/** Starts the collectors that the shop file names. */
import { mkdirSync } from "node:fs";
import type { Logger } from "pino";
import { Agent } from "./agent.ts";
import { bootId, type Clock } from "./clock.ts";
import { InstrumentCare } from "./instruments.ts";
import { DiskOutbox } from "./outbox/disk-outbox.ts";
import type { BrokerAddress, CollectorSettings } from "./settings.ts";
import { sensorsOf } from "./settings.ts";
import { openSource } from "./sources/open.ts";

export interface CollectorsOptions {
  shop: string;
  /** By collector name. */
  collectors: Record<string, CollectorSettings>;
  broker: BrokerAddress;
  /** Relative paths of sources start here: the shop file's folder. */
  baseFolder: string;
  /** IANA time zone. */
  shopZone: string;
  version: string;
  /** Whether rehearsals send their invented past: when the store holds nothing of this shop yet. */
  sendPast: boolean;
  clock: Clock;
  /** Where packs wait for their receipt: kept through a power cut, and (RAM-backed where the machine offers it) through a crash. */
  cardFolder: string;
  runFolder: string;
  logger: Logger;
}

export interface RunningCollectors {
  /** Within two seconds; what is unreceipted then stays in the outbox. */
  stop(): Promise<void>;
}

/**
 * Never fails for a source or a broker that cannot be reached: they are tried again, and their state says so. Throws where
 * an outbox is in use by another process.
 */
export async function startCollectors(options: CollectorsOptions): Promise<RunningCollectors> {
  const { shop, collectors, broker, baseFolder, shopZone, version, sendPast, clock } = options;
  mkdirSync(options.cardFolder, { recursive: true });
  const agents: Agent[] = [];
  for (const [collector, settings] of Object.entries(collectors)) {
    const logger = options.logger.child({ collector });
    const context = { baseFolder, shopZone, sendPast, logger };
    const sources = await Promise.all(settings.sources.map((source) => openSource(source, context)));
    const agent = new Agent({
      shop,
      collector,
      sensors: [...new Set(settings.sources.flatMap(sensorsOf))],
      sources,
      broker,
      version,
      clock,
      care: new InstrumentCare(settings.instruments),
      outbox: new DiskOutbox({
        collector,
        cardFolder: options.cardFolder,
        runFolder: options.runFolder,
        bootId: bootId(),
        nowMs: () => clock.monotonicMs(),
        logger,
      }),
      logger,
    });
    agents.push(agent);
  }
  for (const agent of agents) agent.start();
  return {
    stop: async () => {
      await Promise.all(agents.map((agent) => agent.stop()));
    },
  };
}
