/** What stands behind a journey's program beside its own engines: InfluxDB for its readings, and mosquitto for its messages. */
import { spawnSync } from "node:child_process";
import { existsSync } from "node:fs";
import { join } from "node:path";
import { readingsFileName } from "../../predictor/data-folder.ts";
import { brokerKinds, freePort } from "../faults/brokers.ts";
import { startInflux, type TestInflux } from "../influxd.ts";

/** What the journeys' shop files say of the broker; of the store they say nothing, so that it is SQLite. */
const ownBroker = "broker: { kind: embedded, port: 0 }";

/** With COATCLOCK_ENGINES=influx every journey with a shop file runs on InfluxDB and mosquitto. */
export const areOthersAsked = process.env.COATCLOCK_ENGINES === "influx";

export interface OtherEngines {
  influx: TestInflux;
  /** A journey's shop file with these engines in the place of the program's own. */
  shopFileOn(shopFile: string): string;
  end(): Promise<void>;
}

export async function startOtherEngines(): Promise<OtherEngines> {
  const influx = await startInflux();
  const port = await freePort();
  const broker = await brokerKinds[0]?.start(port);
  return {
    influx,
    shopFileOn(shopFile) {
      if (!shopFile.includes(ownBroker)) throw new Error(`a journey's shop file says ${ownBroker}`);
      const apart = shopFile.trimStart().startsWith("{") ? ", " : "\n";
      const engines = [
        `broker: { kind: address, url: "mqtt://127.0.0.1:${port}" }`,
        `store: { kind: influx, url: "${influx.url}" }`,
      ];
      return shopFile.replace(ownBroker, engines.join(apart));
    },
    async end() {
      await broker?.kill();
      await influx.end();
    },
  };
}

/** What a journey prepared in SQLite, moved to InfluxDB as an installer moves a shop. */
export function moveReadings(program: string, shopFile: string, dataFolder: string): void {
  if (!existsSync(join(dataFolder, readingsFileName))) return;
  const args = [program, "--shop", shopFile, "--copy-readings", "sqlite", "influx"];
  const env = { ...process.env, COATCLOCK_DATA: dataFolder };
  const { status, stdout, stderr } = spawnSync(process.execPath, args, { env, encoding: "utf8" });
  if (status !== 0) throw new Error(`copying ended with ${status}:\n${stdout}${stderr}`);
}
