/** Transmitters that speak Modbus, several on one serial bus or behind one TCP address (docs/modbus.md). */
import { setTimeout as delay } from "node:timers/promises";
import type { Logger } from "pino";
import type { ModbusSettings } from "../settings.ts";
import { Tally } from "../tally.ts";
import { type Link, type ModbusFault, openLink } from "./modbus-link.ts";
import { type ModbusDevice, type Run, runsOf, valuesOf } from "./modbus-registers.ts";
import { reopen, type SessionEnd, warnOfChangingName } from "./reopening.ts";
import type { Measurement, Outlet, Source, SourceContext, SourceState } from "./source.ts";

/** After so many failures in a row a device is asked in every fourth round only (both assumed). */
const failuresBeforeRest = 3;
const restRounds = 4;
/** A device that owes an answer is left alone for at least this long (assumed): a late one must not be taken for the next. */
const lateMs = 1_000;
/** After so many rounds without any reply the link is opened again (assumed): a converter can hang with its port open. */
const silentRoundsBeforeReopening = 3;
const silent = "silent, opening again";

export class ModbusSource implements Source {
  readonly name: string;
  readonly #settings: ModbusSettings;
  readonly #devices: Device[];
  readonly #logger: Logger;
  readonly #tally: Tally;
  readonly #ending = new AbortController();
  #state = "not started";
  #running: Promise<void> = Promise.resolve();

  /** Throws a RangeError when a register's address cannot be; the settings' schema refuses that before. */
  constructor(settings: ModbusSettings, context: SourceContext) {
    const { path, host, port, devices } = settings;
    this.name = `modbus ${path ?? `${host}:${port}`}`;
    this.#settings = settings;
    this.#devices = devices.map((device) => new Device(device));
    this.#logger = context.logger;
    this.#tally = new Tally(context.logger);
  }

  start(outlet: Outlet): void {
    const { path } = this.#settings;
    if (path !== undefined) warnOfChangingName(path, this.#logger);
    const ended = (reason: string) => {
      if (reason !== this.#state) this.#logger.warn({ source: this.name, reason }, "modbus link lost");
      this.#state = reason;
      for (const device of this.#devices) device.linkLost(reason === silent);
    };
    this.#running = reopen(() => this.#session(outlet), ended, this.#ending.signal);
  }

  async stop(): Promise<void> {
    this.#ending.abort();
    await this.#running;
    this.#state = "stopped";
  }

  /** The link's state, then what is wrong with each device that has not answered well of late. */
  state(): SourceState {
    const troubles = this.#devices.map((device) => device.trouble).filter((trouble) => trouble !== "");
    const words = this.#state === "stopped" ? [this.#state] : [this.#state, ...troubles];
    return { state: words.join("; "), counters: this.#tally.counters() };
  }

  /** Opens the link and asks round after round until it is lost, nobody replies or `stop` is called. Never rejects. */
  async #session(outlet: Outlet): Promise<SessionEnd> {
    let link: Link;
    try {
      link = await openLink(this.#settings, this.#ending.signal);
    } catch (error) {
      return { reason: `cannot open, trying again: ${(error as Error).message}`, heard: false };
    }
    this.#tally.count("opened");
    if (this.#state !== silent) this.#state = "open, nothing valid yet";
    const everyMs = this.#settings.everySeconds * 1000;
    let dueMs = performance.now();
    let heard = false;
    let silentRounds = 0;
    while (!link.over.aborted && silentRounds < silentRoundsBeforeReopening) {
      const replies = await this.#round(link, dueMs, outlet);
      heard ||= replies.includes(true);
      if (replies.includes(true)) silentRounds = 0;
      else if (replies.length > 0) silentRounds += 1;
      // After a round that took longer than the interval, the next begins at the next whole interval.
      dueMs += everyMs * Math.max(1, Math.ceil((performance.now() - dueMs) / everyMs));
      await delay(dueMs - performance.now(), undefined, { signal: link.over }).catch(() => undefined);
    }
    const reason = link.over.aborted ? String(link.over.reason) : silent;
    await link.close();
    return { reason, heard };
  }

  /** Asks every device that is not at rest, in turn. Whether each of them gave any reply. */
  async #round(link: Link, dueMs: number, outlet: Outlet): Promise<boolean[]> {
    const replies: boolean[] = [];
    for (const device of this.#devices) {
      if (device.restsUntilMs > dueMs) continue;
      const answer = await device.ask(link);
      if (link.over.aborted) break;
      for (const { kind, detail } of answer.faults) this.#tally.fault(kind, detail);
      device.judge(answer, dueMs, this.#settings.everySeconds * 1000);
      replies.push(answer.isReply);
      if (answer.measurements.length === 0) continue;
      this.#tally.count("readings", answer.measurements.length);
      this.#state = "receiving";
      outlet.measured(answer.measurements);
    }
    return replies;
  }
}

interface DeviceAnswer {
  measurements: Measurement[];
  faults: ModbusFault[];
  /** Whether any registers came, good or bad. */
  isAnswer: boolean;
  /** Whether anything came that was Modbus, be it a refusal. */
  isReply: boolean;
}

class Device {
  readonly #device: ModbusDevice;
  readonly #runs: Run[];
  /** For the state. A single fault between good answers is counted only. */
  trouble = "";
  restsUntilMs = 0;
  #failures = 0;
  /** The words of the last fault, "" after a good answer. */
  #lastFault: string | undefined;

  constructor(device: ModbusDevice) {
    this.#device = device;
    this.#runs = runsOf(device);
  }

  /** Reads the device's registers. After a run without a reply the others are left for the next round. */
  async ask(link: Link): Promise<DeviceAnswer> {
    const { unit, functionCode } = this.#device;
    const answer: DeviceAnswer = { measurements: [], faults: [], isAnswer: false, isReply: false };
    for (const run of this.#runs) {
      const part = await link.ask({ unit, functionCode, address: run.address, count: run.count });
      if (part === undefined) return answer;
      if ("fault" in part) {
        answer.faults.push(part.fault);
        answer.isReply ||= part.fault.isReply;
        if (part.fault.isReply) continue;
        return answer;
      }
      answer.isAnswer = true;
      answer.isReply = true;
      const { measurements, bad } = valuesOf(run, part.registers);
      answer.measurements.push(...measurements);
      for (const { sensor, quantity, address } of bad) {
        const words = `unit ${unit} has no valid ${quantity} of ${sensor}`;
        const detail = { unit, sensor, quantity, address, registers: part.registers };
        answer.faults.push({ kind: "bad value", words, isReply: true, detail });
      }
    }
    return answer;
  }

  /** Keeps account of an answer: what the state says, and when to ask next. */
  judge({ faults, isAnswer }: DeviceAnswer, dueMs: number, everyMs: number): void {
    const words = faults.map((fault) => fault.words).join(", ");
    // The same fault twice, or any fault while none is told yet and no good answer lies before it.
    if (words === "" || words === this.#lastFault || (this.trouble === "" && this.#lastFault !== ""))
      this.trouble = words;
    this.#lastFault = words;
    this.#failures = isAnswer ? 0 : this.#failures + 1;
    const rounds = this.#failures < failuresBeforeRest ? 1 : restRounds;
    const isLateFeared = faults.some((fault) => !fault.isReply);
    this.restsUntilMs = Math.max(dueMs + rounds * everyMs, isLateFeared ? performance.now() + lateMs : 0);
  }

  /** On the next link it is asked at once. After a link that was merely silent, what is wrong with it is still true. */
  linkLost(isTroubleKept: boolean): void {
    this.restsUntilMs = 0;
    this.#failures = 0;
    if (isTroubleKept) return;
    this.trouble = "";
    this.#lastFault = undefined;
  }
}
