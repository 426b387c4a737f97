/** Starts the lamps that the shop file names for this machine. */
import type { Logger } from "pino";
import type { BrokerAddress } from "../collector/settings.ts";
import { Lamp, type LampTimes } from "./lamp.ts";
import type { LampSettings } from "./settings.ts";

export interface LampsOptions {
  shop: string;
  /** Those that run here, by name. */
  lamps: Readonly<Record<string, LampSettings>>;
  broker: BrokerAddress;
  logger: Logger;
  times?: Partial<LampTimes>;
}

export interface RunningLamps {
  /** What each output does, in words, by lamp and by what it switches. */
  state(): Record<string, Record<string, string>>;
  /** Leaves all outputs off, within about ten seconds. */
  stop(): Promise<void>;
}

/** Never fails for a broker, a line or a program that does not answer: they are tried again, and the state says so. */
export function startLamps({ shop, lamps, broker, logger, times }: LampsOptions): RunningLamps {
  const started = new Map<string, Lamp>();
  for (const [name, settings] of Object.entries(lamps)) {
    const parts = { shop, name, settings, broker, logger: logger.child({ lamp: name }) };
    started.set(name, new Lamp({ ...parts, ...(times && { times }) }));
  }
  for (const lamp of started.values()) lamp.start();
  return {
    state: () => Object.fromEntries([...started].map(([name, lamp]) => [name, lamp.state()])),
    stop: async () => {
      await Promise.all([...started.values()].map((lamp) => lamp.stop()));
    },
  };
}
