/** npm run soak: runs it and prints its account; ends with 0 where all is sound, else with 1. */
import { parseArgs } from "node:util";
import type { Account } from "./account.ts";
import { soak } from "./soak.ts";

const usage = `npm run soak -- [--days N] [--minutes N] [--seed N] [--every SECONDS] [--often N] [--broker mosquitto|embedded] [--json]

  --days N      simulated days (30)
  --minutes N   how long they take (1.2 a day, and never less than 2)
  --seed N      chooses the faults, the weather and the cars (1)
  --every N     seconds between two readings of each of the 12 quantities (10)
  --often N     all rates of faults times this (1)
  --json        the account for a program
  --faults      afterwards the tests of faults at full length, which take an hour or so`;

const { values } = parseArgs({
  options: {
    days: { type: "string", default: "30" },
    minutes: { type: "string" },
    seed: { type: "string", default: "1" },
    every: { type: "string", default: "10" },
    often: { type: "string", default: "1" },
    broker: { type: "string", default: "mosquitto" },
    json: { type: "boolean", default: false },
    // Of scripts/soak.mjs.
    faults: { type: "boolean", default: false },
    help: { type: "boolean", default: false },
  },
});
const days = Number(values.days);
const numbers = {
  days,
  minutes: Number(values.minutes ?? Math.max(2, days * 1.2)),
  seed: Number(values.seed),
  everySeconds: Number(values.every),
  often: Number(values.often),
};
const { broker } = values;
const isUnderstood =
  Object.values(numbers).every((number) => number > 0) && (broker === "mosquitto" || broker === "embedded");
if (values.help || !isUnderstood) {
  console.error(usage);
  process.exit(values.help ? 0 : 2);
}
for (const signal of ["SIGINT", "SIGTERM"] as const) process.on(signal, () => process.exit(1));
const account = await soak({
  ...numbers,
  broker: broker === "embedded" ? broker : "mosquitto",
  tell: (words) => console.error(words),
});
console.log(values.json ? JSON.stringify(account, null, 2) : tableOf(account));
process.exitCode = account.unsound.length === 0 ? 0 : 1;

function tableOf({ machine, readings, entries, chain, coats, memory, ...rest }: Account): string {
  const counts = (of: object) =>
    Object.entries(of)
      .map(([name, count]) => `${name} ${count}`)
      .join(", ") || "none";
  const { examples, ...amounts } = readings;
  const perDay = memory.perDay.map(({ day, rssMB, heapMB }) => `${day}: ${rssMB.toFixed(0)}/${heapMB.toFixed(0)}`);
  const slope = memory.slopeMBPerDay === null ? "too short to say" : `${memory.slopeMBPerDay.toFixed(2)} MB a day`;
  const rows: [string, string][] = [
    ["machine", `${machine.cpu}, ${machine.cores} cores, Node ${machine.node}`],
    ["time", `${rest.days} days, seed ${rest.seed}, ${rest.factor.toFixed(0)} times as fast, ${rest.broker}`],
    ["readings", counts(amounts)],
    ["entries", counts(entries)],
    ["chain", `${chain.entries} entries, ${chain.faults.length === 0 ? "sound" : chain.faults.join("; ")}`],
    ["coats", `${coats.live} live at the end, ${coats.differing.length} differ when made anew`],
    ["kills", counts(rest.kills)],
    ["faults", counts(rest.faults)],
    ["strangers", counts(rest.strangers)],
    ["warnings", counts(rest.warnings)],
    ["RSS/heap MB by day", perDay.join("  ")],
    [
      "RSS by quarter",
      memory.quartersRssMB
        .map((megabytes) => (Number.isFinite(megabytes) ? `${megabytes.toFixed(0)} MB` : "too short a life"))
        .join(", "),
    ],
    ["slope", slope],
    [
      "timers late by",
      `${memory.delayMs.median.toFixed(0)} ms as a rule, ${memory.delayMs.most.toFixed(0)} ms at most`,
    ],
    ...examples.map((example): [string, string] => ["", example]),
    ["all in all", rest.unsound.length === 0 ? "sound" : rest.unsound.join("; ")],
  ];
  return rows.map(([name, said]) => `${name.padEnd(20)}${said}`).join("\n");
}
