/**
 * Adds numbered packs to an outbox until it is killed: prints `+N` when a pack was added and `-N` when its receipt was taken.
 * Arguments: the compiled outbox, its card folder, its run folder, the first number, by how much its timer is faster.
 */
import { writeSync } from "node:fs";

const [compiled, cardFolder, runFolder, first, faster] = process.argv.slice(2);
const { setInterval: setRealInterval } = globalThis;
globalThis.setInterval = (callback, ms) => setRealInterval(callback, ms / Number(faster));

const log = (message) => writeSync(2, `${typeof message === "string" ? message : JSON.stringify(message)}\n`);
const { DiskOutbox } = await import(compiled);
const outbox = new DiskOutbox({
  collector: "bay",
  cardFolder,
  runFolder,
  bootId: "this boot",
  nowMs: () => performance.now(),
  logger: { error: log, warn: log, info: log },
});

let number = Number(first);
setRealInterval(() => {
  for (let n = 0; n < 5; n += 1) {
    outbox.add(JSON.stringify({ number, readings: "x".repeat(200) }), "live");
    writeSync(1, `+${number}\n`);
    number += 1;
  }
  // One receipt for five packs, of the oldest, wherever that waits by now.
  for (const urgency of ["backlog", "live"]) {
    for (const { digest, payload } of outbox.waiting(urgency)) {
      outbox.remove(digest);
      writeSync(1, `-${JSON.parse(payload).number}\n`);
      return;
    }
  }
}, 2);
