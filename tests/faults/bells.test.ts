/** What other programs hear of warnings, readiness and the records' head, with mosquitto_sub as docs/mqtt.md has it. */
import { spawnSync } from "node:child_process";
import { afterAll, beforeAll, expect, it } from "vitest";
import { warningsSchema } from "../../predictor/serve/api.ts";
import { type Air, airOf, minuteMs, shopFileOf } from "../journeys/phone-hands.ts";
import { type Program, startProgram } from "../journeys/program.ts";

let program: Program;
let air: Air;
beforeAll(async () => {
  program = await startProgram(shopFileOf("bells"));
  air = await airOf(program.broker, "bells");
  await air.past(60);
}, 60_000);
afterAll(async () => {
  await air.end();
  await program.stop();
});

/** What stands retained under a topic, by topic. */
function retained(topic: string): Map<string, Record<string, unknown>> {
  const port = new URL(program.broker).port;
  const args = ["-p", port, "-v", "--retained-only", "-W", "2", "-t", `coatclock/1/bells/${topic}`];
  const { stdout, stderr, error } = spawnSync("mosquitto_sub", args, { encoding: "utf8" });
  if (error !== undefined) throw new Error(`mosquitto_sub: ${stderr}; install the Debian package mosquitto-clients`);
  return new Map(
    stdout
      .split("\n")
      .filter(Boolean)
      .map((line) => {
        const space = line.indexOf(" ");
        return [line.slice(0, space), JSON.parse(line.slice(space + 1)) as Record<string, unknown>];
      }),
  );
}

it("a window that closes is heard with what to do and until when, and is silent once it was answered", async () => {
  const at = (minutes: number) => new Date(Date.now() - minutes * minuteMs).toISOString();
  const panels = [{ name: "bonnet" }];
  const car = { job: "B 1", name: "Grey van", place: "prep", panels, at: at(50) };
  const { id } = (await program.send("POST", "/api/cars", car)) as { id: string };
  const coat = { panels: ["bonnet"], sheet: "demo-pretreat", finishedAt: at(11) };
  await program.send("POST", `/api/cars/${id}/coats`, coat);
  const topic = "coatclock/1/bells/warnings/prep/window-closing";
  await expect
    .poll(() => retained("warnings/#").get(topic), { timeout: 40_000, interval: 500 })
    .toMatchObject({
      rule: "window-closing",
      place: "prep",
      urgency: "now",
      text: expect.stringMatching(/^Grey van, bonnet \(pre-treatment\): cover with surfacer by \d\d:\d\d$/),
      action: expect.stringContaining("Do it now"),
      consequence: expect.stringContaining("abrade"),
      until: expect.stringMatching(/Z$/),
      carId: id,
    });
  // Told every ten seconds, where a warning is told at once.
  await expect
    .poll(() => [...retained("readiness/#").entries()], { timeout: 20_000, interval: 500 })
    .toEqual([
      [
        expect.stringMatching(/^coatclock\/1\/bells\/readiness\/B-1\/\w+$/),
        expect.objectContaining({ car: "Grey van", place: "prep", panels: ["bonnet"], readyFor: "overcoat" }),
      ],
    ]);
  const { warnings } = warningsSchema.parse(await program.get("/api/warnings"));
  const warning = warnings.find(({ rule }) => rule === "window-closing")?.id ?? "";
  await program.send("POST", "/api/warnings/answers", { warning, done: "next coat sprayed" });
  await expect.poll(() => retained("warnings/#").has(topic), { timeout: 20_000, interval: 500 }).toBe(false);
}, 120_000);

it("the records' head is there for another machine to keep", async () => {
  const head = retained("records/head").get("coatclock/1/bells/records/head");
  expect(head).toMatchObject({ seq: expect.any(Number), hash: expect.stringMatching(/^[0-9a-f]{64}$/) });
});
