/** The HTTP server: API, event stream and pages. */
import type { Request } from "express";
import type { Logger } from "pino";
import { EventStream, type Subject } from "./event-stream.ts";
import { endApp, httpApp, listen, pagesIn, spokenHere, uncached } from "./http-app.ts";
import { sendLogCsv } from "./log-csv.ts";
import { openApi } from "./open-api.ts";
import { HttpProblem, inputProblem } from "./problem.ts";
import { logQuerySchema } from "./proof-api.ts";
import { bookQuery } from "./proof-views.ts";
import { type Gate, mount, refuseReading } from "./route.ts";
import { type RouteParts, routesOf } from "./routes.ts";
import { sessionOf } from "./session-cookies.ts";

export interface ServerParts extends Omit<RouteParts, "streams"> {
  /** Tells one build of the pages from another, so that a display loads itself anew. */
  pagesVersion: string;
  port: number;
  /** Folder of the built pages. */
  pagesFolder: string;
  logger: Logger;
}

export interface Server {
  port: number;
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

/** Starts listening on all of this machine's addresses. A taken port is an error that says what to do. */
export async function startServer(parts: ServerParts): Promise<Server> {
  const { views, follow, people, records, shopFile, version, now } = parts;
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

  const app = httpApp();
  const routes = routesOf({ ...parts, streams: () => stream.subscribers });
  mount(app, routes, gate);
  app.get("/api/log.csv", async (request, response) => {
    refuseReading(request, gate);
    const query = logQuerySchema.safeParse(request.query);
    if (!query.success) throw inputProblem("query", request.query, query.error);
    const { shop, places } = shopFile;
    const placeName = ({ place }: { place: string }) => places[place]?.name ?? place;
    await sendLogCsv({ book: parts.book, of: shop, placeName, nowMs: now() }, bookQuery(query.data), response);
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
  const listening = await listen(app, parts.port);
  return {
    port: listening.port,
    stream,
    async stop() {
      stopFollowing();
      stream.stop();
      await listening.stop();
    },
  };
}
