/**
 * Real readings, by way of a real broker, to a coat whose times the batch form gives again. The series: an office room, one
 * reading a minute, February 2015 (UCI Machine Learning Repository, "Occupancy Detection", datatraining). It does not come
 * with the project: the journey is skipped where the file is absent.
 */
import { spawnSync } from "node:child_process";
import { existsSync, readFileSync } from "node:fs";
import { resolve } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { z } from "zod";
import { carViewSchema, coatViewSchema, sheetsSchema } from "../../predictor/serve/api.ts";
import { healthSchema } from "../../predictor/serve/health.ts";
import { brokerKinds, freePort, type TestBroker } from "../faults/brokers.ts";
import { type Program, startProgram } from "./program.ts";

const root = resolve(import.meta.dirname, "../..");
const example = resolve(root, "docs/examples/played-through-mosquitto.yaml");
const series = resolve(root, "../shared/data/occupancy_datatraining.csv");
const isHere = existsSync(series);
if (!isHere) console.warn(`skipped: ${series} is absent, so recorded readings are not played`);

describe.skipIf(!isHere)("a recorded series, played through mosquitto", () => {
  let broker: TestBroker;
  let program: Program;
  beforeAll(async () => {
    const port = await freePort();
    broker = await mosquitto().start(port);
    const text = readFileSync(example, "utf8")
      .replace("127.0.0.1:18830", `127.0.0.1:${port}`)
      .replace(/file: .*\.csv/, `file: ${series}`);
    program = await startProgram(text);
  }, 60_000);
  afterAll(async () => {
    await program.stop();
    await broker.kill();
  });

  it("is stored whole, and a coat entered into it gets the times that npm run predict gives", async () => {
    const stored = async () => healthSchema.parse(await program.get("/api/health")).intake.readingsStored;
    // 8,143 rows of temperature and humidity.
    await expect.poll(stored, { timeout: 60_000, interval: 200 }).toBe(2 * 8143);

    const finishedAt = "2015-02-05T09:12:20.000Z";
    const car = carViewSchema.parse(
      await program.send("POST", "/api/cars", {
        job: "P-1",
        name: "Played car",
        place: "workshop",
        at: "2015-02-05T08:00:00Z",
        panels: [{ name: "bumper", substrate: "plastic" }],
      }),
    );
    const entered = z.object({ coats: z.array(coatViewSchema) }).parse(
      await program.send("POST", `/api/cars/${car.id}/coats`, {
        panels: ["bumper"],
        sheet: "demo-clear",
        finishedAt,
      }),
    );
    const coatId = entered.coats[0]?.id;
    const coat = async () => coatViewSchema.parse(await program.get(`/api/coats/${coatId}`));
    await expect.poll(async () => (await coat()).prediction?.stages.length ?? 0).toBe(5);

    const span = "from=2015-02-05T09:00:00Z&to=2015-02-11T00:00:00Z";
    const line = async (quantity: string) =>
      z
        .object({ readings: z.array(z.object({ at: z.string(), value: z.number() })) })
        .parse(await program.get(`/api/places/workshop/readings?${span}&quantity=${quantity}`)).readings;
    const [air, humidity] = [await line("air-temperature"), await line("air-humidity")];
    const sheet = sheetsSchema.parse(await program.get("/api/sheets")).sheets.find((each) => each.id === "demo-clear");
    const predicted = predict({
      coldEnergyKJ: 10,
      sheet,
      coat: { finishedAt, filmUm: 55, substrate: "plastic" },
      readings: air.map(({ at, value }, index) => ({ at, airC: value, rhPercent: humidity[index]?.value })),
    });
    const { prediction } = await coat();
    for (const stage of predicted.stages) {
      const live = prediction?.stages.find((each) => each.stage === stage.stage);
      expect([stage.stage, live?.likelyAt, live?.safeAt]).toEqual([stage.stage, stage.likelyAt, stage.safeAt]);
    }
    expect(predicted.stages).toHaveLength(5);
  }, 120_000);
});

function mosquitto() {
  const kind = brokerKinds.find((each) => each.name === "mosquitto, MQTT 5");
  if (kind === undefined) throw new Error("no such broker");
  return kind;
}

function predict(input: object) {
  const { status, stdout, stderr } = spawnSync("npm", ["run", "-s", "predict", "--", "-"], {
    cwd: root,
    input: JSON.stringify(input),
    encoding: "utf8",
  });
  if (status !== 0) throw new Error(`npm run predict ended with ${status}: ${stderr}`);
  return z
    .object({ stages: z.array(z.object({ stage: z.string(), likelyAt: z.string(), safeAt: z.string() })) })
    .parse(JSON.parse(stdout));
}
