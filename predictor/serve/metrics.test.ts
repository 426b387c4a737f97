/** /metrics as a program reads it: the format, what stands in it, and who may. */
import { request } from "node:http";
import { networkInterfaces } from "node:os";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { air, ask, openShop, type ServedShop, testPin } from "../../tests/served-shop.ts";

let shop: ServedShop;
const open = async (more = "") => {
  shop = await openShop(more);
};
const close = () => shop.close();

/** Figures by their line without the value. Throws where a line is not of the text format 0.0.4. */
async function figures(): Promise<Map<string, number>> {
  const response = await fetch(`${shop.base}/metrics`);
  expect(response.headers.get("content-type")).toMatch(/^text\/plain; version=0\.0\.4/);
  const lines = (await response.text()).split("\n").filter((line) => line !== "" && !line.startsWith("#"));
  return new Map(
    lines.map((line) => {
      const [, name, value] = /^([a-z_:][a-z0-9_:]*(?:\{.*\})?) (\S+)$/i.exec(line) ?? [];
      // The lag of the event loop is none before it was looked at first.
      const isFigure = !Number.isNaN(Number(value)) || value === "Nan";
      if (name === undefined || !isFigure) throw new Error(`no figure: ${line}`);
      return [name, Number(value)];
    }),
  );
}

describe("the figures", () => {
  beforeAll(() => open());
  afterAll(close);

  it("count what came in and how long it took", async () => {
    shop.send(air(21, 50, -1));
    shop.sendRaw("{broken");
    await expect.poll(async () => (await figures()).get('coatclock_packs_total{outcome="stored"}')).toBe(1);
    shop.send(air(21, 50));
    await expect.poll(async () => (await figures()).get('coatclock_packs_total{outcome="stored"}')).toBe(2);
    const found = await figures();
    const told = (name: string) => found.get(name);
    expect(told('coatclock_packs_total{outcome="refused"}')).toBe(1);
    expect(told('coatclock_readings_total{outcome="stored"}')).toBe(4);
    expect(told('coatclock_sensor_current{place="booth",quantity="air-temperature"}')).toBe(1);
    expect(told('coatclock_sensor_current{place="yard",quantity="air-temperature"}')).toBe(0);
    expect(told("coatclock_store_commit_duration_seconds_count")).toBe(2);
    expect(told("coatclock_store_commit_duration_seconds_sum")).toBeGreaterThan(0);
    expect(told("coatclock_follow_reading_duration_seconds_count")).toBe(2);
    expect(told("coatclock_clock_believed")).toBe(1);
    expect(told('coatclock_clock_state{state="synchronised"}')).toBe(1);
    expect(told('coatclock_clock_state{state="jumped"}')).toBe(0);
    expect(told("coatclock_store_fault")).toBe(0);
    expect(told("coatclock_records_fault")).toBe(0);
    for (const name of ["process_resident_memory_bytes", "nodejs_heap_size_used_bytes"]) {
      expect(told(name), name).toBeGreaterThan(1e6);
    }
    // Both are of what went on between two looks.
    const later = async (name: string) => (await figures()).get(name);
    await expect.poll(() => later("process_cpu_seconds_total")).toBeGreaterThan(0);
    await expect.poll(() => later("nodejs_eventloop_lag_p99_seconds")).toBeGreaterThan(0);
  });

  it("count requests by route, whatever stands in their path", async () => {
    for (const car of ["a", "b", "c"]) await ask(shop, `/api/cars/${car}`);
    for (const page of ["/", "/nothing/1", "/nothing/2"]) await fetch(shop.base + page);
    await fetch(`${shop.base}/nothing`, { method: "PROPFIND" });
    const found = await figures();
    expect(found.get('coatclock_http_requests_total{method="GET",route="/api/cars/{car}",status="404"}')).toBe(3);
    expect(found.get('coatclock_http_requests_total{method="GET",route="other",status="404"}')).toBe(2);
    expect(found.get('coatclock_http_requests_total{method="other",route="other",status="404"}')).toBe(1);
    expect(found.get('coatclock_http_request_duration_seconds_count{method="GET",route="/api/cars/{car}"}')).toBe(3);
  });

  it("count pages that listen, and their events", async () => {
    const leaving = new AbortController();
    await fetch(`${shop.base}/api/stream`, { signal: leaving.signal });
    const listening = await figures();
    expect(listening.get("coatclock_streams_open")).toBe(1);
    expect(listening.get("coatclock_stream_events_sent_total")).toBe(3);
    leaving.abort();
    await expect.poll(async () => (await figures()).get("coatclock_streams_open")).toBe(0);
    const durations = [...(await figures()).keys()].filter((name) => name.includes("request_duration"));
    expect(durations.filter((name) => name.includes("/api/stream"))).toEqual([]);
  });

  it("follow Prometheus' rules for names, and name nobody and no car", async () => {
    await ask(shop, "/api/cars", { job: "J-4711", name: "Grey van", place: "booth", panels: [{ name: "bonnet" }] });
    await ask(shop, "/api/sign-in", { name: "Painter A", pin: testPin });
    const text = await (await fetch(`${shop.base}/metrics`)).text();
    // A figure may have a PIN's digits by chance.
    const said = text.replaceAll(/ \S+$/gm, "");
    for (const secret of ["Painter A", "Grey van", "J-4711", testPin]) expect(said).not.toContain(secret);
    const kinds = [...text.matchAll(/^# TYPE (\S+) (\S+)$/gm)].map(([, name = "", kind = ""]) => ({ name, kind }));
    expect(kinds.length).toBeGreaterThan(25);
    for (const { name, kind } of kinds) {
      expect(name).toMatch(/^(coatclock|process|nodejs)_/);
      if (name.startsWith("coatclock_")) expect(name.endsWith("_total"), name).toBe(kind === "counter");
      if (kind === "histogram") expect(name).toMatch(/_seconds$/);
    }
  });
});

/** An address of this machine that others on its network would use. */
const fromOutside = Object.values(networkInterfaces())
  .flat()
  .find((each) => each?.family === "IPv4" && !each.internal)?.address;

describe("who may read the figures", () => {
  afterEach(close);
  const status = (host: string, headers: Record<string, string> = {}): Promise<number | undefined> =>
    new Promise((resolve, reject) => {
      const { port } = new URL(shop.base);
      const asking = request({ host, port, path: "/metrics", headers }, (response) => {
        response.resume();
        resolve(response.statusCode);
      });
      asking.on("error", reject);
      asking.end();
    });

  it("is whoever is on this machine, also where reading needs signing in", async () => {
    await open(", reading: signed-in");
    expect(await status("127.0.0.1")).toBe(200);
  });

  it("is nobody behind a proxy on this machine", async () => {
    await open();
    for (const [name, value] of [
      ["x-forwarded-for", "192.0.2.7"],
      ["x-forwarded-for", "127.0.0.1"],
      ["x-forwarded-proto", "https"],
      ["x-real-ip", "192.0.2.7"],
      ["forwarded", "for=192.0.2.7"],
      ["via", "1.1 proxy"],
    ] as const) {
      expect(await status("127.0.0.1", { [name]: value }), `${name}: ${value}`).toBe(403);
    }
  });

  it.skipIf(fromOutside === undefined)("is nobody on the network, unless the shop file says so", async () => {
    await open();
    expect(await status(fromOutside ?? "")).toBe(403);
    await shop.close();
    await open(", metrics: network");
    expect(await status(fromOutside ?? "")).toBe(200);
    expect(await status("127.0.0.1", { "x-forwarded-for": "192.0.2.7" })).toBe(200);
  });
});
