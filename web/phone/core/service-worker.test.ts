import { readFileSync } from "node:fs";
import { runInNewContext } from "node:vm";
import { describe, expect, it } from "vitest";

const source = readFileSync(new URL("../../public/service-worker.js", import.meta.url), "utf8");
const origin = "http://shop.example";

/** The worker with a cache and a network of its own. */
function worker() {
  const kept = new Map<string, Response>();
  const absolute = (asked: string | Request) => new URL(typeof asked === "string" ? asked : asked.url, origin).href;
  const cache = {
    match: async (asked: string) => kept.get(absolute(asked))?.clone(),
    put: async (asked: string, response: Response) => void kept.set(absolute(asked), response),
    add: async (asked: string) => {
      const response = await network(asked);
      if (!response.ok) throw new TypeError("not added");
      kept.set(absolute(asked), response);
    },
    keys: async () => [...kept.keys()].map((url) => ({ url })),
    delete: async (url: string) => kept.delete(url),
  };
  const served = new Map<string, string>();
  const state = { isLinked: true, status: 200, asked: [] as string[] };
  async function network(asked: string | Request): Promise<Response> {
    const url = absolute(asked);
    state.asked.push(url);
    if (!state.isLinked) throw new TypeError("failed to fetch");
    const { pathname } = new URL(url);
    const text = served.get(pathname) ?? (pathname.startsWith("/cars") ? served.get("/") : undefined);
    if (state.status !== 200) return new Response("bad gateway", { status: state.status });
    return new Response(text ?? "none", { status: text === undefined ? 404 : 200 });
  }
  const listeners = new Map<string, (event: unknown) => void>();
  const self = {
    addEventListener: (type: string, listener: (event: unknown) => void) => listeners.set(type, listener),
    skipWaiting: () => undefined,
    clients: { claim: async () => undefined },
    location: { origin },
  };
  runInNewContext(source, { self, caches: { open: async () => cache }, fetch: network, URL, AbortSignal });
  const activate = async () => {
    let done: Promise<unknown> = Promise.resolve();
    listeners.get("activate")?.({ waitUntil: (until: Promise<unknown>) => (done = until) });
    await done;
  };
  /** Null where the worker leaves it to the browser. */
  const get = async (path: string, mode = "navigate"): Promise<string | null> => {
    let answer: Promise<Response> | null = null;
    const after: Promise<unknown>[] = [];
    listeners.get("fetch")?.({
      request: { method: "GET", url: origin + path, mode },
      respondWith: (response: Promise<Response>) => (answer = response),
      waitUntil: (until: Promise<unknown>) => after.push(until),
    });
    if (answer === null) return null;
    const text = await (await (answer as Promise<Response>)).text();
    await Promise.all(after);
    return text;
  };
  return { activate, get, served, state, kept: () => [...kept.keys()].map((url) => url.slice(origin.length)) };
}

const index = (name: string) => `<script src="/assets/${name}.js"></script><link href="/assets/${name}.css">`;
function serve({ served }: ReturnType<typeof worker>, name: string) {
  served.clear();
  served.set("/", index(name)).set(`/assets/${name}.js`, `${name} program`).set(`/assets/${name}.css`, `${name} style`);
}

describe("the service worker", () => {
  it("opens any page of the phone without a network, from what it kept", async () => {
    const each = worker();
    serve(each, "one");
    await each.activate();
    each.state.isLinked = false;
    expect(await each.get("/cars/1/finish")).toBe(index("one"));
    expect(await each.get("/assets/one.js", "no-cors")).toBe("one program");
  });
  it("shows a new version at once, and keeps nothing of the old one", async () => {
    const each = worker();
    serve(each, "one");
    await each.activate();
    serve(each, "two");
    expect(await each.get("/")).toBe(index("two"));
    expect(each.kept()).toEqual(["/", "/assets/two.js", "/assets/two.css"]);
  });
  it("keeps the old version whole when the new one does not come whole", async () => {
    const each = worker();
    serve(each, "one");
    await each.activate();
    serve(each, "two");
    each.served.delete("/assets/two.css");
    expect(await each.get("/")).toBe(index("two"));
    each.state.isLinked = false;
    expect(await each.get("/")).toBe(index("one"));
    expect(await each.get("/assets/one.css", "no-cors")).toBe("one style");
  });
  it("shows what it kept when something before the predictor fails", async () => {
    const each = worker();
    serve(each, "one");
    await each.activate();
    each.state.status = 502;
    expect(await each.get("/")).toBe(index("one"));
  });
  it("leaves the API, the walls and other hosts to the browser", async () => {
    const each = worker();
    serve(each, "one");
    await each.activate();
    expect(await each.get("/api/cars", "cors")).toBeNull();
    expect(await each.get("/wall/booth-1")).toBeNull();
  });
});
