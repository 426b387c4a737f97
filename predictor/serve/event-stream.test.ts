import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { air, ask, openShop, type ServedShop } from "../../tests/served-shop.ts";
import { carsSchema, placeViewSchema } from "./api.ts";

let shop: ServedShop;
beforeEach(async () => {
  shop = await openShop();
});
afterEach(async () => {
  await shop.close();
});

describe("the event stream", () => {
  it("greets with its version and the view, sends a reading at once and the new view after it", async () => {
    const events = listen("/api/stream?place=booth");
    await expect.poll(() => events.names()).toEqual(["hello", "beat", "place"]);
    shop.send(air(19.5, 48));
    await expect.poll(() => events.names().slice(3)).toEqual(["reading", "reading", "place"]);
    expect(events.last("reading")).toMatchObject({ place: "booth", quantity: "air-temperature", value: 19.5 });
    expect(placeViewSchema.parse(events.last("place")).climate.airC?.value).toBe(19.5);
    events.close();
    await expect.poll(() => shop.server.stream.subscribers).toBe(0);
  });

  it("does not send a value that can be no measurement", async () => {
    const events = listen("/api/stream?place=booth");
    await expect.poll(() => events.names()).toEqual(["hello", "beat", "place"]);
    shop.send(air(127.94, 48));
    await expect.poll(() => events.names().slice(3)).toEqual(["reading", "place"]);
    expect(events.last("reading")).toMatchObject({ quantity: "air-humidity" });
    expect(placeViewSchema.parse(events.last("place")).climate.airC).toBeNull();
    events.close();
  });

  it("sends nothing to those who watch another place", async () => {
    const events = listen("/api/stream?place=yard");
    await expect.poll(() => events.names()).toEqual(["hello", "beat", "place"]);
    shop.send(air(19.5, 48));
    await new Promise((resolve) => setTimeout(resolve, 400));
    expect(events.names()).toEqual(["hello", "beat", "place"]);
    events.close();
  });

  it("tells the list of cars anew when one came", async () => {
    const events = listen("/api/stream");
    await expect.poll(() => events.names()).toEqual(["hello", "beat", "cars"]);
    await ask(shop, "/api/cars", { job: "J-7", name: "Grey van", place: "booth", panels: [{ name: "bonnet" }] });
    await expect
      .poll(() => carsSchema.parse(events.last("cars")).cars.map((car) => car.job), { timeout: 3000 })
      .toEqual(["J-7"]);
    events.close();
  });
});

describe("in a shop whose reading is for those signed in, the event stream", () => {
  beforeEach(async () => {
    await shop.close();
    shop = await openShop(", reading: signed-in");
  });
  const streams = () => shop.server.stream.subscribers;

  it.each([
    ["is signed out", () => ask(shop, "/api/sign-out", {})],
    [
      "is made inactive",
      () => ask(shop, "/api/people/Painter%20A", { isActive: false }, "PATCH", { cookie: shop.cookies.installer }),
    ],
  ])(
    "ends within five seconds when its person %s, and no other does",
    async (_how, end) => {
      listen("/api/stream", shop.cookies.painter);
      listen("/api/stream", shop.cookies.quality);
      listen("/api/stream?place=booth");
      await expect.poll(streams).toBe(3);
      expect((await end()).status).toBe(200);
      await expect.poll(streams, { timeout: 5_000 }).toBe(2);
      await new Promise((resolve) => setTimeout(resolve, 4_500));
      expect(streams()).toBe(2);
    },
    20_000,
  );
});

/** Reads an event stream by its own few rules: lines `event:` and `data:`, a blank line between events. */
function listen(path: string, cookie = "") {
  const ending = new AbortController();
  const events: { event: string; data: unknown }[] = [];
  const read = async () => {
    const response = await fetch(shop.base + path, { signal: ending.signal, headers: { cookie } });
    let text = "";
    for await (const chunk of response.body ?? []) {
      text += Buffer.from(chunk as Uint8Array).toString("utf8");
      const parts = text.split("\n\n");
      text = parts.pop() ?? "";
      for (const part of parts) {
        const [event = "", data = ""] = part.split("\n");
        events.push({ event: event.replace("event: ", ""), data: JSON.parse(data.replace("data: ", "")) });
      }
    }
  };
  read().catch(() => undefined);
  return {
    names: () => events.map((each) => each.event),
    last: (event: string) => events.findLast((each) => each.event === event)?.data,
    close: () => ending.abort(),
  };
}
