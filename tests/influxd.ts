/** A real InfluxDB for the tests: on free ports of this machine, in a folder of its own, ended by its process. */
import { type ChildProcess, spawn } from "node:child_process";
import { existsSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as delay } from "node:timers/promises";
import { freePort, killChild } from "./faults/brokers.ts";

export const influxd = "/usr/bin/influxd";

export interface TestInflux {
  url: string;
  folder: string;
  readonly pid: number | undefined;
  /** Ends it as a power cut would. */
  kill(): Promise<void>;
  /** Starts it again, on the same port and folder. */
  start(): Promise<void>;
  /** Ends it and removes what it wrote. */
  end(): Promise<void>;
}

export async function startInflux(more = ""): Promise<TestInflux> {
  if (!existsSync(influxd)) throw new Error(`${influxd} is missing: install the Debian package influxdb`);
  const folder = mkdtempSync(join(tmpdir(), "coatclock-influx-"));
  const config = join(folder, "influxdb.conf");
  const port = await freePort();
  writeFileSync(
    config,
    `reporting-disabled = true
bind-address = "127.0.0.1:${await freePort()}"
[meta]
  dir = "${folder}/meta"
[data]
  dir = "${folder}/data"
  wal-dir = "${folder}/wal"
  wal-fsync-delay = "0s"
  query-log-enabled = false
[monitor]
  store-enabled = false
[http]
  bind-address = "127.0.0.1:${port}"
  log-enabled = false
  ${more}
`,
  );
  const url = `http://127.0.0.1:${port}`;
  let child: ChildProcess;
  const start = async () => {
    child = spawn(influxd, ["-config", config], { stdio: "ignore" });
    await untilAnswering(url, child);
  };
  await start();
  return {
    url,
    folder,
    get pid() {
      return child.pid;
    },
    kill: () => killChild(child),
    start,
    async end() {
      await killChild(child);
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

async function untilAnswering(url: string, child: ChildProcess): Promise<void> {
  for (let tries = 0; tries < 400; tries += 1) {
    if (child.exitCode !== null) throw new Error(`influxd ended at once with code ${child.exitCode}`);
    const answer = await fetch(`${url}/ping`).catch(() => null);
    if (answer?.status === 204) return;
    await delay(50);
  }
  await killChild(child);
  throw new Error(`influxd does not answer at ${url}`);
}
