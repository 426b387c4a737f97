/** The HTTP server: API, event stream and pages. */
import { existsSync } from "node:fs";
import { createServer } from "node:http";
import { resolve } from "node:path";
import express from "express";
import helmet from "helmet";
import type { Logger } from "pino";
import { EventStream } from "./event-stream.ts";
import { HttpProblem, notFound, problemHandler } from "./problem.ts";
import { mount, openApi } from "./route.ts";
import { type RouteParts, routesOf } from "./routes.ts";

export interface ServerParts extends Omit<RouteParts, "streams"> {
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

/** Starts listening on all of this machine's addresses. A taken port is an error that says what to do. */
export async function startServer(parts: ServerParts): Promise<Server> {
  const { views, follow, version, now, logger } = parts;
  const stream = new EventStream({
    version,
    now,
    placeView: (place) => views.placeView(place),
    cars: () => views.cars(),
  });
  const stopFollowing = follow.onChange((change) => stream.changed(change));

  const app = express();
  app.disable("x-powered-by");
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
  mount(app, routes);
  app.get("/api/openapi.json", (_request, response) => {
    response.json(openApi(routes, version));
  });
  app.get("/api/stream", (request, response) => {
    const { place } = request.query;
    if (place !== undefined && (typeof place !== "string" || views.place(place) === null)) {
      throw new HttpProblem(404, `No place "${String(place)}".`);
    }
    if (!stream.open(request, response, place ?? null))
      throw new HttpProblem(503, "Too many pages listen already. Close some.");
  });

  const page = (name: string) => resolve(parts.pagesFolder, name);
  if (!existsSync(page("index.html")))
    throw new Error(`the pages are not built (${page("index.html")} is missing). Run: npm run build`);
  app.get("/wall/:place", (request, response) => {
    // The page itself says in words that there is no such place.
    response.status(views.place(request.params.place) === null ? 404 : 200);
    response.sendFile(page("wall.html"), { headers: { "Cache-Control": "no-cache" } });
  });
  app.use("/assets", express.static(page("assets"), { immutable: true, maxAge: "1y", fallthrough: false }));
  app.use(
    express.static(parts.pagesFolder, {
      setHeaders: (response) => void response.setHeader("Cache-Control", "no-cache"),
    }),
  );
  app.use(notFound);
  app.use(problemHandler(logger));

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
