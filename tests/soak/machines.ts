/** The shop of the soak: its processes, its disks, and what can be done to them. */
import { existsSync, mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { userInfo } from "node:os";
import { join, resolve } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { pathToFileURL } from "node:url";
import { hourMs } from "../load/invented-shop.ts";
import type { CollectorOrders } from "./collector.ts";
import { Disk } from "./disk.ts";
import type { FastTime } from "./fast-time.ts";
import type { InFastTime, Sample } from "./in-fast-time.ts";
import { Kept } from "./kept.ts";
import { type Fault, pickOf, type Span } from "./schedule.ts";

export interface MachinesOptions {
  folder: string;
  mqttPort: number;
  httpPort: number;
  span: Span;
  time: FastTime;
  everySeconds: number;
  broker: "mosquitto" | "embedded";
  faults: readonly Fault[];
}

export const collectors: Record<string, string[]> = { east: ["booth", "prep"], west: ["workshop", "mixing"] };
/** Shorter than the program's, as the soak's time is. */
const receiptTimeoutMs = 1_000;
const mosquitto = "/usr/sbin/mosquitto";
/** From the tests' source, and compiled. */
const dist = ["../../dist", "../.."]
  .map((path) => resolve(import.meta.dirname, path))
  .find((path) => existsSync(join(path, "main.js")));

interface Acts {
  begin: () => Promise<unknown>;
  end: () => Promise<unknown>;
}

export class Machines {
  readonly shop = "soaked";
  readonly mqttPort: number;
  readonly httpPort: number;
  readonly brokerUrl: string;
  readonly address: string;
  readonly predictor: Kept;
  readonly collectors: ReadonlyMap<string, Kept>;
  /** Null where it is part of the predictor. */
  readonly broker: Kept | null;
  readonly dataDisk: Disk;
  readonly cardDisk: Disk;
  readonly #options: MachinesOptions;
  /** What the predictor has printed. */
  announced = "";
  #isStopped = false;

  constructor(options: MachinesOptions) {
    if (dist === undefined) throw new Error("Coatclock is not compiled: npm run build");
    this.#options = options;
    const { folder, mqttPort, httpPort, time, faults } = options;
    this.mqttPort = mqttPort;
    this.httpPort = httpPort;
    this.brokerUrl = `mqtt://127.0.0.1:${mqttPort}`;
    this.address = `http://127.0.0.1:${httpPort}`;
    this.dataDisk = new Disk(join(folder, "data"));
    this.cardDisk = new Disk(join(folder, "cards"));
    mkdirSync(join(folder, "run"));
    writeFileSync(join(folder, "shop.yaml"), JSON.stringify(this.#shopFile()));
    const jumps = faults
      .filter(({ kind }) => kind === "predictor's clock jumps")
      .map(({ fromMs, untilMs, pick }) => ({ fromMs, untilMs, byMs: pick < 0.5 ? -3 * hourMs : 3 * hourMs }));
    const orders: InFastTime = { time, jumps, samplesFile: this.#path("samples.jsonl") };
    this.predictor = new Kept({
      name: "the predictor",
      command: process.execPath,
      args: [
        "--import",
        pathToFileURL(join(dist, "tests/soak/in-fast-time.js")).href,
        join(dist, "main.js"),
        "--shop",
        this.#path("shop.yaml"),
        "--only",
        "predictor",
      ],
      env: {
        ...process.env,
        COATCLOCK_DATA: this.dataDisk.folder,
        COATCLOCK_PORT: String(httpPort),
        COATCLOCK_LOG: "silent",
        COATCLOCK_SOAK: JSON.stringify(orders),
      },
      onOutput: (text) => {
        this.announced += text;
      },
    });
    this.collectors = new Map(Object.keys(collectors).map((name) => [name, this.#collector(name, dist ?? "")]));
    this.broker = options.broker === "embedded" ? null : this.#mosquitto();
  }

  get recordsFile(): string {
    return join(this.dataDisk.folder, "records.db");
  }

  get readingsFile(): string {
    return join(this.dataDisk.folder, "readings.db");
  }

  tallyFile(collector: string): string {
    return this.#path(`tally-${collector}.jsonl`);
  }

  samples(): Sample[] {
    return readFileSync(this.#path("samples.jsonl"), "utf8")
      .split("\n")
      .filter((line) => line !== "")
      .map((line) => JSON.parse(line) as Sample);
  }

  async start(): Promise<void> {
    this.broker?.comeBack();
    this.predictor.comeBack();
    for (const [name, collector] of this.collectors) {
      this.#believe(name, true);
      collector.comeBack();
    }
    while (!this.announced.includes("readings")) {
      if (this.predictor.crashes.length > 0) throw new Error(this.predictor.crashes[0]);
      await delay(20);
    }
  }

  /** Ends all of them; they do not start again. */
  async stop(): Promise<void> {
    if (this.#isStopped) return;
    this.#isStopped = true;
    for (const each of this.#all()) await each.goAway();
  }

  unmount(): void {
    this.dataDisk.unmount();
    this.cardDisk.unmount();
  }

  kills(): Record<string, number> {
    const collectorKills = [...this.collectors.values()].reduce((sum, { kills }) => sum + kills, 0);
    return { predictor: this.predictor.kills, collectors: collectorKills, broker: this.broker?.kills ?? 0 };
  }

  crashes(): string[] {
    return this.#all().flatMap(({ crashes }) => crashes);
  }

  /** What a fault does to a process or a disk; null for one of another kind. */
  actsOf(fault: Fault): Acts | "cannot be" | null {
    const nothing = async () => undefined;
    const name = pickOf(fault, [...this.collectors.keys()]) ?? "";
    const collector = this.collectors.get(name);
    const { broker, predictor, dataDisk, cardDisk } = this;
    const disk = fault.pick < 0.5 ? dataDisk : cardDisk;
    switch (fault.kind) {
      case "collector killed":
        return { begin: async () => collector?.kill(), end: nothing };
      case "predictor killed":
        return { begin: () => predictor.kill(), end: nothing };
      case "broker killed":
        return broker === null ? "cannot be" : { begin: () => broker.kill(), end: nothing };
      case "broker away":
        return broker === null ? "cannot be" : { begin: () => broker.goAway(), end: async () => broker.comeBack() };
      case "predictor away":
        return { begin: () => predictor.goAway(), end: async () => predictor.comeBack() };
      case "collector's clock not believed after a start":
        return {
          begin: async () => {
            this.#believe(name, false);
            await collector?.kill();
          },
          end: async () => this.#believe(name, true),
        };
      case "disk full":
        return disk.isMounted ? { begin: async () => disk.fill(), end: async () => disk.free() } : "cannot be";
      case "disk read-only at the start":
        return disk.isMounted ? this.#readOnly(disk) : "cannot be";
      default:
        return null;
    }
  }

  /** A disk turns read-only between two starts of those who write there. */
  #readOnly(disk: Disk): Acts {
    const writers = disk === this.dataDisk ? [this.predictor] : [...this.collectors.values()];
    const restartWith = async (change: () => void, mayFail: boolean) => {
      for (const each of writers) await each.goAway();
      change();
      for (const each of writers) {
        each.mayFail = mayFail;
        each.comeBack();
      }
    };
    return {
      begin: () => restartWith(() => disk.protect(), true),
      end: () => restartWith(() => disk.unprotect(), false),
    };
  }

  /** Whether the time service of a collector's machine says that its clock is right. */
  #believe(collector: string, isBelieved: boolean): void {
    const folder = this.#path(`timesync-${collector}`);
    mkdirSync(folder, { recursive: true });
    if (isBelieved) writeFileSync(join(folder, "synchronized"), "");
    else rmSync(join(folder, "synchronized"), { force: true });
  }

  #all(): Kept[] {
    return [...this.collectors.values(), this.predictor, ...(this.broker === null ? [] : [this.broker])];
  }

  #path(name: string): string {
    return join(this.#options.folder, name);
  }

  #collector(name: string, compiled: string): Kept {
    const { span, time, everySeconds, broker } = this.#options;
    const orders: CollectorOrders = {
      collector: name,
      collectors,
      span,
      time,
      everyMs: everySeconds * 1000,
      broker: { url: this.brokerUrl, protocolVersion: broker === "embedded" ? 4 : 5 },
      receiptTimeoutMs,
      cardFolder: this.cardDisk.folder,
      runFolder: this.#path("run"),
      timesyncFolder: this.#path(`timesync-${name}`),
      tallyFile: this.tallyFile(name),
    };
    const args = [join(compiled, "tests/soak/collector.js"), JSON.stringify(orders)];
    return new Kept({ name: `collector ${name}`, command: process.execPath, args });
  }

  #mosquitto(): Kept {
    if (!existsSync(mosquitto)) throw new Error(`${mosquitto} is missing: install the Debian package mosquitto`);
    const config = this.#path("mosquitto.conf");
    const lines = [`listener ${this.mqttPort} 127.0.0.1`, "allow_anonymous true", "persistence false"];
    writeFileSync(config, [...lines, `user ${userInfo().username}`, ""].join("\n"));
    return new Kept({ name: "the broker", command: mosquitto, args: ["-c", config] });
  }

  #shopFile(): object {
    const { mqttPort, broker } = this.#options;
    const places = Object.entries(collectors).flatMap(([collector, sensors]) =>
      sensors.map((sensor) => {
        const line = `${collector}/${sensor}`;
        const lines = { "air-temperature": line, "air-humidity": line, "panel-temperature": line };
        return [sensor, { name: `Invented ${sensor}`, kind: sensor, sensors: lines }];
      }),
    );
    return {
      shop: this.shop,
      name: "Soaked shop",
      invented: true,
      timeZone: "Etc/UTC",
      trustClock: true,
      workday: { days: ["mon", "tue", "wed", "thu", "fri"], from: "07:30", to: "17:00" },
      broker:
        broker === "embedded"
          ? { kind: "embedded", port: mqttPort }
          : { kind: "address", url: this.brokerUrl, protocol: "5" },
      mixingPlace: "mixing",
      places: Object.fromEntries(places),
      collectors: Object.fromEntries(
        Object.entries(collectors).map(([name, sensors]) => [name, { elsewhere: true, sensors }]),
      ),
    };
  }
}
