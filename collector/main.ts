/** Starts the collectors that the shop file names. */
import type { Logger } from "pino";
import { Agent } from "./agent.ts";
import { Clock } from "./clock.ts";
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
  logger: Logger;
}

export interface RunningCollectors {
  /** Within two seconds; what is unreceipted then is lost, since the outbox is in memory. */
  stop(): Promise<void>;
}

/** Never fails for a source or a broker that cannot be reached: they are tried again, and their state says so. */
export function startCollectors(options: CollectorsOptions): RunningCollectors {
  const { shop, collectors, broker, baseFolder, shopZone, version, sendPast } = options;
  const clock = new Clock();
  const agents = Object.entries(collectors).map(([collector, settings]) => {
    const logger = options.logger.child({ collector });
    const context = { baseFolder, shopZone, sendPast, logger };
    return new Agent({
      shop,
      collector,
      sensors: [...new Set(settings.sources.flatMap(sensorsOf))],
      sources: settings.sources.map((source) => openSource(source, context)),
      broker,
      version,
      clock,
      logger,
    });
  });
  for (const agent of agents) agent.start();
  return {
    stop: async () => {
      await Promise.all(agents.map((agent) => agent.stop()));
    },
  };
}
