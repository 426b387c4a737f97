/** The HTTP server: API, event stream and pages. */
import { existsSync } from "node:fs";
import { createServer } from "node:http";
import { resolve } from "node:path";
import express, { type Request } from "express";
import helmet from "helmet";
import type { Logger } from "pino";
import { isLanguage, type Language, languages, type Words, wordsOf } from "../../words/words.ts";
import { EventStream, type Subject } from "./event-stream.ts";
import { sendLogCsv } from "./log-csv.ts";
import { openApi } from "./open-api.ts";
import { pageFiles } from "./page-files.ts";
import { HttpProblem, inputProblem, notFound, problemHandler } from "./problem.ts";
import { logQuerySchema } from "./proof-api.ts";
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
  const { views, follow, people, records, shopFile, version, now, logger } = parts;
  const catalogues = new Map(languages.map((language) => [language, wordsOf({ ...shopFile, language })]));
  const wordsIn = (language: Language): Words => catalogues.get(language) ?? wordsOf(shopFile);
  const languageOf = ({ query }: Request): Language => {
    const { language } = query;
    return isLanguage(language) ? language : shopFile.language;
  };
  const gate: Gate = {
    wordsOf: (request) => wordsIn(languageOf(request)),
    personOf: (request) => {
      const session = sessionOf(request);
      return session === null ? null : people.signedIn(session);
    },
    readingIsClosed: shopFile.reading === "signed-in",
    knows: (key) => records.knows(key),
  };
  const stream = new EventStream({ version: `${version}+${parts.pagesVersion}`, now, views, wordsIn });
  const stopFollowing = follow.onChange((change) => stream.changed(change));

  const app = express();
  app.disable("x-powered-by");
  // A proxy on this machine that speaks TLS says who asked, and by which name and protocol.
  app.set("trust proxy", "loopback");
  app.use(
    helmet({
      contentSecurityPolicy: {
        useDefaults: false,
        directives: {
          defaultSrc: ["'self'"],
          imgSrc: ["'self'", "data:"],
          objectSrc: ["'none'"],
          baseUri: ["'none'"],
          formAction: ["'self'"],
          frameAncestors: ["'none'"],
        },
      },
      // The shop's network speaks plain HTTP unless someone puts TLS in front.
      strictTransportSecurity: false,
      crossOriginOpenerPolicy: false,
      originAgentCluster: false,
    }),
  );
  app.use(express.json({ limit: "256kb" }));

  const routes = routesOf({ ...parts, streams: () => stream.subscribers });
  mount(app, routes, gate);
  app.get("/api/log.csv", async (request, response) => {
    refuseReading(request, gate);
    const query = logQuerySchema.safeParse(request.query);
    if (!query.success) throw inputProblem("query", request.query, query.error);
    await sendLogCsv(parts, query.data, response);
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

  const page = (name: string) => resolve(parts.pagesFolder, name);
  if (!existsSync(page("index.html")))
    throw new Error(`the pages are not built (${page("index.html")} is missing). Run: npm run build`);
  const noCache = { headers: { "Cache-Control": "no-cache" } };
  app.get(phonePages, (_request, response) => response.sendFile(page("index.html"), noCache));
  app.get(deskPages, (_request, response) => response.sendFile(page("desk.html"), noCache));
  app.get("/wall", (_request, response) => response.sendFile(page("wall.html"), noCache));
  app.get("/wall/:place", (request, response) => {
    // The page itself says in words that there is no such place.
    response.status(views.place(request.params.place) === null ? 404 : 200);
    response.sendFile(page("wall.html"), noCache);
  });
  app.use("/assets", pageFiles(page("assets")));
  app.use(
    express.static(parts.pagesFolder, {
      setHeaders: (response) => void response.setHeader("Cache-Control", "no-cache"),
    }),
  );
  app.use(notFound);
  app.use(problemHandler(logger, gate.wordsOf));

  const server = createServer(app);
  await new Promise<void>((started, failed) => {
    server.once("error", (error: NodeJS.ErrnoException) => {
      failed(
        error.code === "EADDRINUSE"
          ? new Error(
              `port ${parts.port} is taken on this machine. Start with another, such as: COATCLOCK_PORT=${parts.port + 1} npm start`,
            )
          : error,
      );
    });
    server.listen(parts.port, started);
  });
  const address = server.address();
  return {
    port: typeof address === "object" && address !== null ? address.port : parts.port,
    stream,
    async stop() {
      stopFollowing();
      stream.stop();
      await new Promise<void>((stopped) => {
        server.close(() => stopped());
        server.closeAllConnections();
      });
    },
  };
}
