/** The soak: a simulated month of the program's own processes, with faults by chance, and the account of it. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { freePort } from "../faults/brokers.ts";
import { firstSession } from "../journeys/program.ts";
import { Chance, Diary, dayMs, hourMs, startMs as mondayMs } from "../load/invented-shop.ts";
import { type Account, accountOf } from "./account.ts";
import { coursesOf } from "./courses.ts";
import { type FastTime, monotonicMs, simulatedMs } from "./fast-time.ts";
import { readingsIn } from "./joined.ts";
import { Machines } from "./machines.ts";
import type { SoakOptions } from "./options.ts";
import { Painter } from "./painter.ts";
import { type Fault, type FaultKind, scheduleOf } from "./schedule.ts";
import { Strangers } from "./strangers.ts";

/** People are at work at once. */
const beginsAtHour = 7;
/** How long what was made may take to reach the store once all is well again. */
const drainWithinMs = 300_000;

export async function soak(options: SoakOptions): Promise<Account> {
  const { seed, days, minutes, often, tell } = options;
  const startMs = mondayMs + beginsAtHour * hourMs;
  const span = { seed, startMs, endMs: Math.round(startMs + days * dayMs), often };
  const folder = mkdtempSync(join(tmpdir(), "coatclock-soak-"));
  const [mqttPort, httpPort] = [await freePort(), await freePort()];
  const factor = (span.endMs - startMs) / (minutes * 60_000);
  const faults = scheduleOf(span);
  // Simulated time begins once all run.
  const beginsAtMs = monotonicMs() + 4_000;
  const time: FastTime = { startMs, endMs: span.endMs, beginsAtMs, factor };
  const machines = new Machines({ ...options, folder, mqttPort, httpPort, span, time, faults });
  const nowMs = () => simulatedMs(time);
  const chance = new Chance(seed + 1);
  const strangers = new Strangers(chance, machines.shop);
  const clearAway = () => {
    machines.unmount();
    rmSync(folder, { recursive: true, force: true });
  };
  process.on("exit", clearAway);
  let painter: Painter | null = null;
  try {
    await machines.start();
    const cookie = await firstSession(machines.address, machines.announced);
    painter = new Painter({ address: machines.address, chance: new Chance(seed + 2), nowMs, ...span, cookie });
    const working = painter.work();
    const done = await commit(faults, { machines, strangers, nowMs, tell, span });
    await working;
    strangers.end();
    tell("simulated time has ended: waiting for what is on its way");
    const readings = await settled(() => readingsIn(machines), drainWithinMs);
    const followed = await coursesOf(machines.address);
    await machines.predictor.kill();
    const anew = await coursesOf(machines.address);
    await machines.stop();
    return accountOf({ options, factor, readings, painter, machines, strangers, followed, anew, done });
  } finally {
    painter?.stop();
    strangers.end();
    await machines.stop();
    process.off("exit", clearAway);
    clearAway();
  }
}

interface Scene {
  machines: Machines;
  strangers: Strangers;
  nowMs: () => number;
  tell: (words: string) => void;
  span: { startMs: number; endMs: number };
}

/** Commits the faults when they are due, until the end; gives how many of each kind. */
async function commit(faults: readonly Fault[], scene: Scene): Promise<Map<FaultKind, number>> {
  const { nowMs, span, tell, machines } = scene;
  const diary = new Diary();
  const done = new Map<FaultKind, number>();
  const underWay = new Set<Promise<unknown>>();
  const run = (act: () => Promise<unknown>) => {
    const acting = act().finally(() => underWay.delete(acting));
    underWay.add(acting);
  };
  for (const fault of faults) {
    const acts = machines.actsOf(fault) ?? strangersActs(fault, scene);
    if (acts === "cannot be") continue;
    diary.at(fault.fromMs, () => {
      done.set(fault.kind, (done.get(fault.kind) ?? 0) + 1);
      run(acts.begin);
    });
    diary.at(fault.untilMs, () => run(acts.end));
  }
  let toldDay = 0;
  while (nowMs() < span.endMs) {
    diary.until(nowMs());
    const day = Math.floor((nowMs() - span.startMs) / dayMs);
    if (day > toldDay) tell(`day ${day} is over`);
    toldDay = day;
    await delay(10);
  }
  diary.until(Number.MAX_SAFE_INTEGER);
  await Promise.all(underWay);
  return done;
}

function strangersActs({ kind }: Fault, { strangers, machines, nowMs }: Scene) {
  const nothing = async () => undefined;
  switch (kind) {
    case "packs that are none":
      return { begin: () => strangers.sendPacks(machines.brokerUrl, "east", nowMs()), end: nothing };
    case "MQTT that is none":
      return { begin: () => strangers.sendPackets(machines.mqttPort), end: nothing };
    case "HTTP that is none":
      return { begin: () => strangers.sendRequests(machines.httpPort), end: nothing };
    case "page that stops reading":
      return { begin: async () => strangers.openPage(machines.httpPort), end: async () => strangers.closePage() };
    default:
      // Of sensors and clocks: the processes know the schedule and do it themselves.
      return { begin: nothing, end: nothing };
  }
}

/** Looks until nothing is missing, or nothing has come for a while, or time is up. */
async function settled<T extends { lost: number }>(look: () => Promise<T>, withinMs: number): Promise<T> {
  const untilMs = monotonicMs() + withinMs;
  let found = await look();
  while (found.lost > 0 && monotonicMs() < untilMs) {
    await delay(500);
    found = await look();
  }
  return found;
}
