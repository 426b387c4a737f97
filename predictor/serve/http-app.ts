/** What every server of this program has: headers that keep foreign pages out, bodies, built pages, problems in words, a port. */
import { existsSync } from "node:fs";
import { createServer, type Server } from "node:http";
import { resolve } from "node:path";
import express, { type Express, type Request } from "express";
import helmet from "helmet";
import type { Logger } from "pino";
import { isLanguage, type Language, languages, type Words, wordsOf } from "../../words/words.ts";
import { notFound, problemHandler } from "./problem.ts";

/** An app without routes. */
export function httpApp(): Express {
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
  return app;
}

export interface Spoken {
  wordsIn: (language: Language) => Words;
  /** As the request asks, else what is spoken here. */
  languageOf: (request: Request) => Language;
  wordsOf: (request: Request) => Words;
}

/** The words of who asks: `language` in the query, or the language spoken here. */
export function spokenHere(here: Parameters<typeof wordsOf>[0]): Spoken {
  const catalogues = new Map(languages.map((language) => [language, wordsOf({ ...here, language })]));
  const wordsIn = (language: Language): Words => catalogues.get(language) ?? wordsOf(here);
  const languageOf = ({ query: { language } }: Request): Language => (isLanguage(language) ? language : here.language);
  return { wordsIn, languageOf, wordsOf: (request) => wordsIn(languageOf(request)) };
}

export const uncached = { headers: { "Cache-Control": "no-cache" } };

/** Where a built page lies. Throws where they are not built. */
export function pagesIn(folder: string): (name: string) => string {
  const page = (name: string) => resolve(folder, name);
  if (!existsSync(page("index.html")))
    throw new Error(`the pages are not built (${page("index.html")} is missing). Run: npm run build`);
  return page;
}

/** After all routes: what pages are made of, and words for what there is not and what went wrong. */
export function endApp(
  app: Express,
  { pagesFolder, logger, wordsOf }: { pagesFolder: string; logger: Logger } & Pick<Spoken, "wordsOf">,
): void {
  const assets = resolve(pagesFolder, "assets");
  app.use("/assets", express.static(assets, { immutable: true, maxAge: "1y", fallthrough: false }));
  app.use(
    express.static(pagesFolder, {
      setHeaders: (response) => void response.setHeader("Cache-Control", "no-cache"),
    }),
  );
  app.use(notFound);
  app.use(problemHandler(logger, wordsOf));
}

export interface Listening {
  port: number;
  stop(): Promise<void>;
}

/** On all of this machine's addresses. A taken port is an error that says what to do. */
export async function listen(app: Express, port: number): Promise<Listening> {
  const server: Server = createServer(app);
  await new Promise<void>((started, failed) => {
    server.once("error", (error: NodeJS.ErrnoException) => {
      failed(
        error.code === "EADDRINUSE"
          ? new Error(
              `port ${port} is taken on this machine. Start with another, such as: COATCLOCK_PORT=${port + 1} npm start`,
            )
          : error,
      );
    });
    server.listen(port, started);
  });
  const address = server.address();
  return {
    port: typeof address === "object" && address !== null ? address.port : port,
    stop: () =>
      new Promise((stopped) => {
        server.close(() => stopped());
        server.closeAllConnections();
      }),
  };
}
