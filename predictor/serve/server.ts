/** The HTTP server: API, event stream and pages. */
import type { Request } from "express";
import type { Logger } from "pino";
import type { Certificate } from "../readings/certificate.ts";
import { isAskedHere } from "./asked-here.ts";
import { EventStream, type Subject } from "./event-stream.ts";
import { healthOf } from "./health.ts";
import { ownHosts } from "./host-names.ts";
import { endApp, httpApp, pagesIn, spokenHere, uncached } from "./http-app.ts";
import { listen } from "./listen.ts";
import type { Metrics } from "./metrics.ts";
import { openApi } from "./open-api.ts";
import { HttpProblem } from "./problem.ts";
import { type Gate, mount, refuseReading } from "./route.ts";
import { type RouteParts, routesOf } from "./routes.ts";
import { sessionOf } from "./session-cookies.ts";

export interface ServerParts extends Omit<RouteParts, "streams"> {
  /** Tells one build of the pages from another, so that a display loads itself anew. */
  pagesVersion: string;
  port: number;
  /** With it the network gets the pages by HTTPS only, and `port` is for this machine. */
  tls: { tls: Certificate; port: number } | null;
  /** Folder of the built pages. */
  pagesFolder: string;
  metrics: Metrics;
  logger: Logger;
}

export interface Server {
  port: number;
  httpsPort: number | null;
  stream: EventStream;
  stop(): Promise<void>;
}

/** Addresses that are pages of the phone's program; it finds its page by the address. */
const phonePages = [
  "/cars/new",
  "/cars/:car",
  "/cars/:car/card",
  "/cars/:car/finish",
  "/coats/:coat",
  "/mix",
  "/spray",
  "/warnings",
  "/settings",
  "/people",
  "/sign-in",
  "/set-up",
];

const deskPages = ["/log", "/log/:coat", "/sheets", "/sheets/:sheet", "/predictions", "/sensors"];

function subjectOf({ query }: Request): Subject {
  const { place, overview } = query;
  if (overview !== undefined) return { kind: "overview" };
  return place === undefined ? { kind: "cars" } : { kind: "place", place: String(place) };
}

/** Starts listening on all of this machine's addresses, by HTTPS where there is a certificate. A taken port is an error that says what to do. */
export async function startServer(parts: ServerParts): Promise<Server> {
  const { views, follow, people, records, shopFile, version, now, metrics, tls } = parts;
  const { wordsIn, languageOf, wordsOf } = spokenHere(shopFile);
  const gate: Gate = {
    wordsOf,
    personOf: (request) => {
      const session = sessionOf(request);
      return session === null ? null : people.signedIn(session);
    },
    readingIsClosed: shopFile.reading === "signed-in",
    knows: (key) => records.knows(key),
  };
  const stream = new EventStream({ version: `${version}+${parts.pagesVersion}`, now, views, wordsIn });
  const stopFollowing = follow.onChange((change) => stream.changed(change));

  const app = httpApp({
    isOwnHost: ownHosts(shopFile),
    keepsToHttps: tls !== null,
    watch: (request, response) => metrics.watch(request, response),
  });
  const routeParts = { ...parts, streams: () => stream.subscribers };
  const routes = routesOf(routeParts);
  mount(app, routes, gate);
  metrics.tellOf({
    health: () => healthOf(routeParts),
    receiptsSent: () => parts.link.receiptsSent(),
    coatsFollowed: () => follow.coatCount,
    streams: stream,
    warnings: parts.warnings,
  });
  app.get("/metrics", async (request, response) => {
    if (shopFile.metrics === "this-machine" && !isAskedHere(request)) {
      throw new HttpProblem(
        403,
        "These figures are for programs on this machine; the shop file can give them to the network (metrics: network).",
      );
    }
    response
      .set("Cache-Control", "no-store")
      .type(metrics.contentType)
      .send(await metrics.text());
  });
  app.get("/api/openapi.json", (_request, response) => {
    response.json(openApi(routes, version));
  });
  app.get("/api/stream", (request, response) => {
    const subject = subjectOf(request);
    const isClosed = subject.kind === "cars" && gate.readingIsClosed;
    if (isClosed) refuseReading(request, gate);
    if (subject.kind === "place" && views.place(subject.place) === null) {
      throw new HttpProblem(404, `No place "${subject.place}".`);
    }
    const session = sessionOf(request);
    const mayRead = () => !isClosed || (session !== null && people.isSession(session));
    if (!stream.open(request, response, { subject, language: languageOf(request), mayRead }))
      throw new HttpProblem(503, "Too many pages listen already. Close some.");
  });

  const page = pagesIn(parts.pagesFolder);
  app.get(phonePages, (_request, response) => response.sendFile(page("index.html"), uncached));
  app.get(deskPages, (_request, response) => response.sendFile(page("desk.html"), uncached));
  app.get("/wall", (_request, response) => response.sendFile(page("wall.html"), uncached));
  app.get("/wall/:place", (request, response) => {
    // The page itself says in words that there is no such place.
    response.status(views.place(request.params.place) === null ? 404 : 200);
    response.sendFile(page("wall.html"), uncached);
  });
  endApp(app, { ...parts, wordsOf });
  const plain = await listen({
    app,
    port: parts.port,
    to: tls === null ? "network" : "this-machine",
    ifTaken: `Start with another, such as: COATCLOCK_PORT=${parts.port + 1} npm start`,
  });
  const secure =
    tls === null
      ? null
      : await listen({ app, ...tls, to: "network", ifTaken: "Give https.port another number in the shop file." }).catch(
          async (error: unknown) => {
            await plain.stop();
            throw error;
          },
        );
  return {
    port: plain.port,
    httpsPort: secure?.port ?? null,
    stream,
    async stop() {
      stopFollowing();
      stream.stop();
      await Promise.all([plain.stop(), secure?.stop()]);
    },
  };
}
