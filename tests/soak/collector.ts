/**
 * A collector of the soak, a process of its own: the agent, the outbox, the clock and the reader of serial lines are the
 * program's; the machine's clock and the sensors are simulated. Argument: CollectorOrders as JSON.
 */
import { pino } from "pino";
import { Agent } from "../../collector/agent.ts";
import { bootId, Clock } from "../../collector/clock.ts";
import { InstrumentCare } from "../../collector/instruments.ts";
import { DiskOutbox } from "../../collector/outbox/disk-outbox.ts";
import { isBelieved } from "../../collector/readings.ts";
import type { BrokerAddress } from "../../collector/settings.ts";
import { parseLine } from "../../collector/sources/serial-line.ts";
import type { Outlet, Source } from "../../collector/sources/source.ts";
import { dayMs } from "../load/invented-shop.ts";
import { type FastTime, offBy, simulatedMs } from "./fast-time.ts";
import { pickOf, type Span, scheduleOf } from "./schedule.ts";
import { Sensors } from "./sensors.ts";
import { TallyWriter } from "./tally.ts";

export interface CollectorOrders {
  collector: string;
  /** All of the shop's, and the sensors of each. */
  collectors: Record<string, string[]>;
  span: Span;
  time: FastTime;
  everyMs: number;
  broker: BrokerAddress;
  receiptTimeoutMs: number;
  cardFolder: string;
  runFolder: string;
  /** Holds the file `synchronized` while this machine's clock can be believed. */
  timesyncFolder: string;
  tallyFile: string;
}

const orders: CollectorOrders = JSON.parse(process.argv[2] ?? "");
const { collector, collectors, span, time, everyMs } = orders;
const sensors = collectors[collector] ?? [];
const logger = pino({ level: process.env.COATCLOCK_LOG ?? "silent" }, pino.destination(2));
const schedule = scheduleOf(span);
const days = Math.ceil((span.endMs - span.startMs) / dayMs) + 1;
const said = new Sensors(span.seed, days, Object.values(collectors).flat(), schedule);
const tickOf = (atMs: number) => Math.floor((atMs - time.startMs) / everyMs);
/** The moment of this process stands between two ticks, so that a reading's instant is the tick's and no other. */
let tick = tickOf(simulatedMs(time));
const momentMs = () => time.startMs + tick * everyMs;

/** A wrong time that stands for a minute is believed: so jumps are shorter, and one that a start would take for the truth is left out. */
const jumps = schedule
  .filter((fault) => fault.kind === "collector's clock jumps" && pickOf(fault, Object.keys(collectors)) === collector)
  .map(({ fromMs, untilMs, pick }) => ({ fromMs, untilMs, byMs: (((pick * 1e6) % 2) - 1) * dayMs }));
let jumpedByMs = 0;

class SoakClock extends Clock {
  /** The predictor's time comes every five real seconds: on a clock this fast it would be hours old. */
  override heard(): void {}
}
const clock = new SoakClock({
  trusted: false,
  logger,
  timesyncFolder: orders.timesyncFolder,
  wallMs: () => momentMs() + jumpedByMs,
  monotonicMs: () => momentMs() - time.startMs + dayMs,
});
await clock.start();

const tally = new TallyWriter(orders.tallyFile);

/** Moves the moment on; false where that was the last. */
function step(): boolean {
  const wasBelieved = isBelieved(clock.state());
  tick = Math.min(tickOf(simulatedMs(time)), tickOf(time.endMs - 1));
  const byMs = offBy(jumps, momentMs());
  if (byMs === 0 || wasBelieved) jumpedByMs = byMs;
  return tick < tickOf(time.endMs - 1);
}

function measure(outlet: Outlet): void {
  const lines = sensors.map((sensor) => said.line(sensor, momentMs()));
  const known = new Set(sensors);
  const measured = lines.map((line) => (line === null ? [] : parseLine(line, known).readings));
  tally.note(momentMs(), measured);
  for (const readings of measured) if (readings.length > 0) outlet.measured(readings);
}

const source: Source = {
  name: "simulated serial lines",
  start(outlet) {
    let lastTick = tick;
    const timer = setInterval(
      () => {
        const goesOn = step();
        if (tick > lastTick) measure(outlet);
        lastTick = tick;
        if (goesOn) return;
        clearInterval(timer);
        tally.end();
      },
      Math.max(1, everyMs / time.factor / 2),
    );
  },
  stop: async () => undefined,
  state: () => ({ state: "open", counters: {} }),
};

new Agent({
  shop: "soaked",
  collector,
  sensors,
  sources: [source],
  broker: orders.broker,
  version: "0",
  clock,
  care: new InstrumentCare({}),
  outbox: new DiskOutbox({
    collector,
    cardFolder: orders.cardFolder,
    runFolder: orders.runFolder,
    bootId: bootId(),
    nowMs: () => clock.monotonicMs(),
    logger,
  }),
  logger,
  receiptTimeoutMs: orders.receiptTimeoutMs,
}).start();
