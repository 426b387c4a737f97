import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import mqtt from "mqtt";
import { pino } from "pino";
import { expect, it, vi } from "vitest";
import { Clock } from "../../collector/clock.ts";
import { startCollectors } from "../../collector/main.ts";
import type { CollectorState } from "../../collector/readings.ts";
import { lastLevel, packDigest, senmlPackSchema, topicsOf } from "../../collector/readings.ts";
import { collectorSchema } from "../../collector/settings.ts";
import { brokerKinds, freePort } from "./brokers.ts";

const topics = topicsOf("test-shop");
const logger = pino({ level: "silent" });

it.each(brokerKinds)(
  "two collectors send all they have through $name, and a source that fails takes none of the others with it",
  async ({ protocolVersion, start }) => {
    const folder = mkdtempSync(join(tmpdir(), "coatclock-collectors-"));
    const rows = Array.from({ length: 2_000 }, (_, n) => `${1_700_000_000 + n},${n}`);
    writeFileSync(join(folder, "hall.csv"), `at,temp\n${rows.join("\n")}\n`);
    const port = await freePort();
    const broker = await start(port);
    const url = `mqtt://127.0.0.1:${port}`;
    const predictor = await mqtt.connectAsync(url, { protocolVersion, reconnectPeriod: 0 });
    const records = new Map<string, number>();
    const states = new Map<string, CollectorState>();
    predictor.on("message", (topic, payload) => {
      const name = lastLevel(topic);
      if (topic === topics.collectors(name)) {
        states.set(name, JSON.parse(payload.toString()));
        return;
      }
      const pack = senmlPackSchema.parse(JSON.parse(payload.toString()));
      records.set(pack[0]?.bn ?? "", (records.get(pack[0]?.bn ?? "") ?? 0) + pack.length);
      predictor.publish(topics.receipts(name), JSON.stringify({ pack: packDigest(payload), status: "stored" }), {
        qos: 1,
      });
    });
    await predictor.subscribeAsync([topics.allReadings, topics.allCollectors], { qos: 1 });

    const playback = {
      kind: "playback",
      time: { column: "at", format: "unix-seconds" },
      columns: [{ column: "temp", sensor: "hall", quantity: "air-temperature" }],
      speed: "all",
    };
    const running = await startCollectors({
      shop: "test-shop",
      collectors: {
        recorded: collectorSchema.parse({
          sources: [
            { ...playback, file: "hall.csv" },
            { ...playback, file: "none.csv" },
          ],
        }),
        invented: collectorSchema.parse({
          sources: [{ kind: "rehearsal", room: "booth", sensor: "booth-1", everySeconds: 60, pastHours: 5 }],
        }),
      },
      broker: { url, protocolVersion },
      baseFolder: folder,
      shopZone: "Europe/Berlin",
      version: "0",
      sendPast: true,
      clock: new Clock({ trusted: true, logger }),
      cardFolder: join(folder, "data"),
      runFolder: folder,
      logger,
    });
    await vi.waitFor(
      () => {
        expect(records.get("recorded/hall/")).toBe(2_000);
        // Five hours at one a minute, four quantities each; one instant more when the clock turns a minute meanwhile.
        expect(records.get("invented/booth-1/")).toBeGreaterThanOrEqual(1_200);
        expect(states.get("recorded")?.sources.map(({ state }) => state.replace(/:.*/, ""))).toEqual([
          "finished",
          "failed",
        ]);
      },
      { timeout: 15_000, interval: 50 },
    );
    await running.stop();
    await vi.waitFor(() => expect([...states.values()].map(({ online }) => online)).toEqual([false, false]), 15_000);
    await predictor.endAsync(true);
    await broker.kill();
    rmSync(folder, { recursive: true });
  },
);
