/**
 * A collector whose one source counts: it measures 1, 2, 3 … and prints each number once the agent has taken it, so that whoever
 * kills it knows what it had read. Arguments: a JSON object with url, protocolVersion, folder, from, everyMs.
 */
import { pino } from "pino";
import { Agent } from "../../dist/collector/agent.js";
import { bootId, Clock } from "../../dist/collector/clock.js";
import { InstrumentCare } from "../../dist/collector/instruments.js";
import { DiskOutbox } from "../../dist/collector/outbox/disk-outbox.js";

const { url, protocolVersion, folder, from, everyMs } = JSON.parse(process.argv[2]);
const logger = pino({ level: process.env.COATCLOCK_LOG ?? "silent" }, pino.destination(2));
const clock = new Clock({ trusted: true, logger });
await clock.start();
let next = from;
const counting = {
  name: "counting",
  start(outlet) {
    let lastMs = 0;
    setInterval(() => {
      // A late tick can have the next one at its heels, and two readings of one millisecond would be one reading. A reading is dated
      // somewhere within `measured`, be the machine ever so busy: what counts is when that was over.
      if (performance.now() - lastMs < 2) return;
      outlet.measured([{ sensor: "mast", quantity: "air-pressure", value: 50_000 + next }]);
      lastMs = performance.now();
      process.stdout.write(`${next}\n`);
      next += 1;
    }, everyMs);
  },
  stop: async () => undefined,
  state: () => ({ state: "counting", counters: {} }),
};
const outbox = new DiskOutbox({
  collector: "played",
  cardFolder: folder,
  runFolder: folder,
  bootId: bootId(),
  nowMs: () => clock.monotonicMs(),
  logger,
});
const care = new InstrumentCare({
  mast: { "air-pressure": { slope: 1, offset: 0, fastestPerMinute: 1e9, stuckMinutes: "off" } },
});
new Agent({
  shop: "faulty",
  collector: "played",
  sensors: ["mast"],
  sources: [counting],
  broker: { url, protocolVersion },
  version: "0",
  clock,
  care,
  outbox,
  logger,
  receiptTimeoutMs: 1_000,
}).start();
