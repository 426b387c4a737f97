/** A server that only pretends: the built pages, and views and events as a test wants them, as fast as it wants them. */
import { existsSync, readFileSync } from "node:fs";
import { createServer, type IncomingMessage, type ServerResponse } from "node:http";
import type { AddressInfo } from "node:net";
import { extname, join, resolve } from "node:path";
import type { Overview, PlaceView } from "../../predictor/serve/api.ts";

/** COATCLOCK_PAGES names another folder of built pages. */
const pages = resolve(process.env.COATCLOCK_PAGES ?? join(import.meta.dirname, "../../dist/web"));
const types: Record<string, string> = {
  ".html": "text/html",
  ".js": "text/javascript",
  ".css": "text/css",
  ".svg": "image/svg+xml",
};

export interface Shows {
  place: PlaceView;
  overview: Overview;
}

/** A question or an entry, and what is answered to it. */
export interface Asked {
  method: string;
  path: string;
  query: Record<string, string>;
  /** Null where none was sent. */
  body: unknown;
}
export interface Told {
  status: number;
  body: unknown;
}

export interface Pretend {
  /** A name that is this machine's and not called localhost, as a wall's browser would use. */
  address: string;
  /** What it answers from now on. */
  shows: Shows;
  /** Of the program, as it says hello with it. */
  version: string;
  /** The languages that views were asked in. */
  languages: (string | null)[];
  /** How many streams were opened so far. */
  opened(): number;
  /** Sends an event to every stream; resolves when it is handed to the network. */
  say(event: string, data: unknown): Promise<void>;
  /** Breaks every stream in the middle. */
  breakStreams(): void;
  stop(): Promise<void>;
}

/** `more` answers first; null where it does not know. */
export async function startPretend(shows: Shows, more: (asked: Asked) => Told | null = () => null): Promise<Pretend> {
  if (!existsSync(join(pages, "wall.html"))) throw new Error(`no built pages in ${pages}: run npm run build first`);
  const streams = new Set<ServerResponse>();
  let opened = 0;
  const languages: (string | null)[] = [];
  const json = (response: ServerResponse, body: unknown, status = 200) => {
    response.writeHead(status, { "content-type": "application/json" }).end(JSON.stringify(body));
  };
  const answer = async (request: IncomingMessage, response: ServerResponse) => {
    const { pathname, searchParams } = new URL(request.url ?? "/", "http://pretend");
    const text = request.method === "POST" ? await bodyOf(request) : "";
    const body: unknown = text === "" ? null : JSON.parse(text);
    const asked = { method: request.method ?? "GET", path: pathname, query: Object.fromEntries(searchParams), body };
    const told = more(asked);
    if (told !== null) json(response, told.body, told.status);
    else if (pathname === "/api/stream") {
      opened += 1;
      response.writeHead(200, { "content-type": "text/event-stream", "cache-control": "no-store" });
      // The browser comes back at once when a stream breaks.
      response.write(`retry: 20\n\nevent: hello\ndata: ${JSON.stringify({ version: pretend.version })}\n\n`);
      streams.add(response);
      request.on("close", () => streams.delete(response));
    } else if (pathname === "/api/overview" || pathname.endsWith("/wall")) {
      if (pathname === "/wall") return page(response, "wall.html");
      languages.push(searchParams.get("language"));
      json(response, pathname === "/api/overview" ? pretend.shows.overview : pretend.shows.place);
    } else if (pathname.endsWith("/climate")) json(response, historyUntil(Date.parse(pretend.shows.place.asOf)));
    else if (pathname.startsWith("/wall")) page(response, "wall.html");
    else if (pathname.startsWith("/log")) page(response, "desk.html");
    else page(response, pathname.slice(1));
  };
  const server = createServer((request, response) => void answer(request, response));
  await new Promise<void>((listening) => server.listen(0, listening));
  const pretend: Pretend = {
    address: `http://wall.localhost:${(server.address() as AddressInfo).port}`,
    shows,
    version: "1+a",
    languages,
    opened: () => opened,
    say: async (event, data) => {
      const text = `event: ${event}\ndata: ${JSON.stringify(data)}\n\n`;
      await Promise.all([...streams].map((stream) => new Promise((sent) => stream.write(text, sent))));
    },
    breakStreams: () => {
      for (const stream of streams) stream.destroy();
      streams.clear();
    },
    stop: async () => {
      for (const stream of streams) stream.destroy();
      server.closeAllConnections();
      await new Promise((closed) => server.close(closed));
    },
  };
  return pretend;
}

async function bodyOf(request: IncomingMessage): Promise<string> {
  let text = "";
  for await (const chunk of request) text += String(chunk);
  return text;
}

function page(response: ServerResponse, name: string): void {
  const file = resolve(pages, name);
  if (!file.startsWith(pages) || !existsSync(file)) {
    response.writeHead(404).end();
    return;
  }
  response.writeHead(200, { "content-type": types[extname(file)] ?? "application/octet-stream" });
  response.end(readFileSync(file));
}

/** Thirteen hours of invented air, a minute a point. */
function historyUntil(toMs: number) {
  const minutes = Array.from({ length: 780 }, (_, index) => toMs - (780 - index) * 60_000);
  const wave = (mean: number, size: number) => minutes.map((ms) => mean + size * Math.sin(ms / 3_600_000));
  const line = (mean: number[]) => ({ mean, min: mean.map((v) => v - 0.3), max: mean.map((v) => v + 0.3) });
  return {
    from: new Date(toMs - 780 * 60_000).toISOString(),
    to: new Date(toMs).toISOString(),
    bucketSeconds: 60,
    at: minutes.map((ms) => new Date(ms).toISOString()),
    airC: line(wave(20, 1.5)),
    rhPercent: line(wave(50, 8)),
    panelC: line(wave(19.2, 1.5)),
    dewPointC: wave(9, 2),
  };
}
