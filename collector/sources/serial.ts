/** Readings that a microcontroller sends over a serial port, line by line (docs/serial-line.md). */
import { setTimeout as delay } from "node:timers/promises";
import type { Logger } from "pino";
import { SerialPort } from "serialport";
import type { SerialSettings } from "../settings.ts";
import { Tally } from "../tally.ts";
import { reopen, type SessionEnd, warnOfChangingName } from "./reopening.ts";
import { LineSplitter, parseLine } from "./serial-line.ts";
import type { Outlet, Source, SourceContext, SourceState } from "./source.ts";

const closeTimeoutMs = 500;
const silent = "silent, opening again";

export class SerialSource implements Source {
  readonly name: string;
  readonly #settings: SerialSettings;
  readonly #sensors: ReadonlySet<string>;
  readonly #logger: Logger;
  readonly #tally: Tally;
  readonly #ending = new AbortController();
  #state = "not started";
  #running: Promise<void> = Promise.resolve();

  constructor(settings: SerialSettings, context: SourceContext) {
    this.name = `serial ${settings.path}`;
    this.#settings = settings;
    this.#sensors = new Set(settings.sensors);
    this.#logger = context.logger;
    this.#tally = new Tally(context.logger);
  }

  start(outlet: Outlet): void {
    const { path } = this.#settings;
    warnOfChangingName(path, this.#logger);
    const ended = (reason: string) => {
      if (reason !== this.#state) this.#logger.warn({ path, reason }, "serial port lost");
      this.#state = reason;
    };
    this.#running = reopen(() => this.#session(outlet), ended, this.#ending.signal);
  }

  async stop(): Promise<void> {
    this.#ending.abort();
    await this.#running;
    this.#state = "stopped";
  }

  state(): SourceState {
    return { state: this.#state, counters: this.#tally.counters() };
  }

  /** Opens the port and listens until it fails, falls silent or `stop` is called. Never rejects. */
  async #session(outlet: Outlet): Promise<SessionEnd> {
    const { path, baud: baudRate, dataBits, parity, stopBits, silenceSeconds } = this.#settings;
    const { signal } = this.#ending;
    const port = new SerialPort({ path, baudRate, dataBits, parity, stopBits, autoOpen: false });
    const openError = await new Promise<Error | null>((resolve) => port.open(resolve));
    if (openError !== null) return { reason: `cannot open, trying again: ${openError.message}`, heard: false };

    this.#tally.count("opened");
    if (this.#state !== silent) this.#state = "open, nothing valid yet";
    const silenceMs = silenceSeconds * 1000;
    const splitter = new LineSplitter();
    let heard = false;
    let heardAtMs = performance.now();
    port.on("data", (chunk: Buffer) => {
      if (!this.#take(chunk, splitter, outlet)) return;
      heard = true;
      heardAtMs = performance.now();
      this.#state = "receiving";
    });
    const over = new AbortController();
    let watchdog: NodeJS.Timeout | undefined;
    const reason = await new Promise<string>((resolve) => {
      port.on("error", (error) => resolve(`failed, trying again: ${error.message}`));
      port.on("close", () => resolve("unplugged, trying again"));
      signal.addEventListener("abort", () => resolve("stopped"), { signal: over.signal });
      if (signal.aborted) resolve("stopped");
      watchdog = setInterval(() => {
        if (performance.now() - heardAtMs > silenceMs) resolve(silent);
      }, silenceMs / 4);
    });
    over.abort();
    clearInterval(watchdog);
    port.removeAllListeners("data");
    await close(port);
    return { reason, heard };
  }

  /** Whether the chunk ended at least one line that gave a reading. */
  #take(chunk: Buffer, splitter: LineSplitter, outlet: Outlet): boolean {
    const { lines, overlong } = splitter.push(chunk);
    for (let n = 0; n < overlong; n += 1) this.#tally.fault("line too long", {});
    let isHeard = false;
    for (const line of lines) {
      const { readings, faults } = parseLine(line, this.#sensors);
      for (const fault of faults) this.#tally.fault(fault, { line });
      if (readings.length === 0) continue;
      isHeard = true;
      this.#tally.count("lines");
      outlet.measured(readings);
    }
    return isHeard;
  }
}

/** Closes a port that may already be gone; gives up after half a second. */
async function close(port: SerialPort): Promise<void> {
  if (!port.isOpen) return;
  const done = new AbortController();
  const closed = new Promise<void>((resolve) => port.close(() => resolve())).then(() => done.abort());
  await Promise.race([closed, delay(closeTimeoutMs, undefined, { signal: done.signal }).catch(() => undefined)]);
}
