/** What every server of this program has: names it answers to, headers that keep foreign pages out, bodies, built pages, problems in words. */
import { existsSync } from "node:fs";
import { resolve } from "node:path";
import express, { type Express, type Request, type Response } from "express";
import helmet from "helmet";
import type { Logger } from "pino";
import { isLanguage, type Language, languages, type Words, wordsOf } from "../../words/words.ts";
import { refuseOtherNames } from "./host-names.ts";
import { pageFiles } from "./page-files.ts";
import { notFound, problemHandler } from "./problem.ts";

/** What no page of ours asks a browser for. */
const unusedFeatures =
  "camera=(), display-capture=(), geolocation=(), microphone=(), midi=(), payment=(), serial=(), usb=()";

/** For a browser that came by HTTPS: 30 days, so that a shop that gives it up is not locked out for long. */
const httpsOnly = `max-age=${30 * 86_400}`;

export interface AppParts {
  /** Whether a Host header names this machine, see host-names.ts. */
  isOwnHost: (host: string) => boolean;
  /** A browser that came by HTTPS once shall come by nothing else. */
  keepsToHttps: boolean;
  /** Sees each request first. */
  watch?: (request: Request, response: Response) => void;
}

/** An app without routes. */
export function httpApp({ isOwnHost, keepsToHttps, watch }: AppParts): Express {
  const app = express();
  app.disable("x-powered-by");
  // A proxy on this machine that speaks TLS says who asked, and by which name and protocol.
  app.set("trust proxy", "loopback");
  if (watch !== undefined) {
    app.use((request, response, next) => {
      watch(request, response);
      next();
    });
  }
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
      strictTransportSecurity: false,
      crossOriginOpenerPolicy: false,
      originAgentCluster: false,
    }),
  );
  app.use((request, response, next) => {
    response.setHeader("Permissions-Policy", unusedFeatures);
    if (keepsToHttps && request.secure) response.setHeader("Strict-Transport-Security", httpsOnly);
    next();
  });
  app.use(refuseOtherNames(isOwnHost));
  // What people did is for whoever asked, and for no cache.
  app.use("/api", (_request, response, next) => {
    response.setHeader("Cache-Control", "no-store");
    next();
  });
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
  app.use("/assets", pageFiles(resolve(pagesFolder, "assets")));
  app.use(
    express.static(pagesFolder, {
      setHeaders: (response) => void response.setHeader("Cache-Control", "no-cache"),
    }),
  );
  app.use(notFound);
  app.use(problemHandler(logger, wordsOf));
}
