/** What a head office consists of, each a process of its own whose cost can be read: the broker, the store, the office, further intakes. */
import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { mkdirSync, readdirSync, readFileSync, statSync, writeFileSync } from "node:fs";
import { userInfo } from "node:os";
import { join, resolve } from "node:path";
import { killChild, untilListening } from "../faults/brokers.ts";
import { heldIn } from "../faults/group.ts";
import { startInflux, type TestInflux } from "../influxd.ts";

export interface GroupProcess {
  name: string;
  pid: number;
}

export interface GroupOptions {
  folder: string;
  port: number;
  shops: readonly string[];
  store: "sqlite" | "influx";
  intakes: number;
}

const database = "coatclock_load";

export async function startGroup({ folder, port, shops, store, intakes }: GroupOptions) {
  const conf = join(folder, "mosquitto.conf");
  const lines = [
    `listener ${port} 127.0.0.1`,
    "allow_anonymous true",
    "persistence false",
    "max_inflight_messages 100",
    "max_queued_messages 10000",
    `user ${userInfo().username}`,
  ];
  writeFileSync(conf, `${lines.join("\n")}\n`);
  const broker = spawn("/usr/sbin/mosquitto", ["-c", conf], { stdio: "ignore" });
  await untilListening(port, broker);
  const influx = store === "influx" ? await startInflux() : null;
  const stored = influx === null ? "{ kind: sqlite }" : `{ kind: influx, url: "${influx.url}", database: ${database} }`;
  const file = join(folder, "group.yaml");
  writeFileSync(
    file,
    `{ group: loaded, name: Loaded group, invented: true, ports: { http: 0 }, shops: [${shops.join(", ")}],
       broker: { kind: address, url: "mqtt://127.0.0.1:${port}" }, store: ${stored} }`,
  );
  const data = join(folder, "data");
  mkdirSync(data);
  const program = resolve(import.meta.dirname, "../../main.js");
  const start = (more: readonly string[]) =>
    spawn(process.execPath, [program, "--group", file, ...more], {
      stdio: ["ignore", "pipe", "inherit"],
      env: { ...process.env, COATCLOCK_DATA: data, COATCLOCK_LOG: process.env.COATCLOCK_LOG ?? "error" },
    });
  const offices = [start([]), ...Array.from({ length: intakes - 1 }, () => start(["--only", "intake"]))];
  // Each says one line once it is there.
  await Promise.all(offices.map((office) => office.stdout !== null && once(office.stdout, "data")));
  const named: [string, number | undefined][] = [
    ["mosquitto", broker.pid],
    ...offices.map((office, n): [string, number | undefined] => [
      n === 0 ? "head office" : `intake ${n + 1}`,
      office.pid,
    ]),
    ...(influx === null ? [] : [["influxd", influx.pid] as [string, number | undefined]]),
  ];
  return {
    processes: named.flatMap(([name, pid]): GroupProcess[] => (pid === undefined ? [] : [{ name, pid }])),
    stored: async () => (influx === null ? inFiles(data) : inInflux(influx)),
    bytesOnDisk: async () => (influx === null ? bytesIn(join(data, "shops"), "readings.db") : bytesIn(influx.folder)),
    endOffices: async () => {
      await Promise.all(offices.map(ended));
    },
    async stop() {
      await Promise.all(offices.map(ended));
      await influx?.end();
      await killChild(broker);
    },
  };
}

async function ended(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return;
  const gone = once(child, "exit");
  child.kill("SIGTERM");
  await gone;
}

function inFiles(data: string): number {
  const shops = join(data, "shops");
  const counts = readdirSync(shops).map((shop) => {
    const file = join(shops, shop, "readings.db");
    return statSync(file, { throwIfNoEntry: false }) === undefined ? 0 : (heldIn(file)?.count ?? 0);
  });
  return counts.reduce((sum, count) => sum + count, 0);
}

async function inInflux({ url }: TestInflux): Promise<number> {
  const asked = new URLSearchParams({ db: database, q: "SELECT count(value) FROM readings" });
  const answer = (await (await fetch(`${url}/query?${asked}`)).json()) as {
    results: { series?: { values: [number, number][] }[] }[];
  };
  return answer.results[0]?.series?.[0]?.values[0]?.[1] ?? 0;
}

/** As the disk has them: files of InfluxDB begin with room that nothing is in yet. */
function bytesIn(folder: string, named = ""): number {
  return readdirSync(folder, { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile() && entry.name.startsWith(named))
    .reduce((sum, entry) => sum + statSync(join(entry.parentPath, entry.name)).blocks * 512, 0);
}

export interface Cost {
  cpuMs: number;
  residentBytes: number;
  mostResidentBytes: number;
}

const msPerTick = 10;

/** What Linux says of a process (proc(5)). */
export async function costOf({ pid }: GroupProcess): Promise<Cost> {
  const stat = readFileSync(`/proc/${pid}/stat`, "utf8");
  const fields = stat.slice(stat.lastIndexOf(")") + 2).split(" ");
  const status = readFileSync(`/proc/${pid}/status`, "utf8");
  const bytesOf = (line: string) => Number(new RegExp(`^${line}:\\s+(\\d+) kB`, "m").exec(status)?.[1]) * 1024;
  return {
    cpuMs: (Number(fields[11]) + Number(fields[12])) * msPerTick,
    residentBytes: bytesOf("VmRSS"),
    mostResidentBytes: bytesOf("VmHWM"),
  };
}
