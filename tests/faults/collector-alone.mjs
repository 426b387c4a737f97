/**
 * A collector in a process of its own, for the tests that kill it or lie to it about the time: one serial sensor.
 * Arguments: a JSON object with collector, url, port (of the serial line), folder, timesyncFolder.
 */
import { pino } from "pino";
import { Clock } from "../../dist/collector/clock.js";
import { startCollectors } from "../../dist/collector/main.js";
import { collectorSchema } from "../../dist/collector/settings.js";

const { collector, url, port, folder, timesyncFolder } = JSON.parse(process.argv[2]);
const logger = pino({ level: process.env.COATCLOCK_LOG ?? "silent" }, pino.destination(2));
const clock = new Clock({ trusted: false, logger, timesyncFolder });
await clock.start();
await startCollectors({
  shop: "faulty",
  collectors: {
    [collector]: collectorSchema.parse({ sources: [{ kind: "serial", path: port, sensors: ["mast"] }] }),
  },
  broker: { url, protocolVersion: 5 },
  baseFolder: folder,
  shopZone: "UTC",
  version: "0",
  sendPast: false,
  clock,
  cardFolder: folder,
  runFolder: folder,
  logger,
});
