/** The HTTP server of a head office: it is asked, by those signed in, and writes nothing but who they are. */
import { hostname } from "node:os";
import type { Logger } from "pino";
import { ownHosts } from "./host-names.ts";
import { endApp, httpApp, pagesIn, spokenHere, uncached } from "./http-app.ts";
import { type Listening, listen } from "./listen.ts";
import { type OfficeRouteParts, officeRoutes } from "./office-routes.ts";
import { openApi } from "./open-api.ts";
import { type Gate, mount } from "./route.ts";
import { sessionOf } from "./session-cookies.ts";

export interface OfficeServerParts extends Omit<OfficeRouteParts, "address"> {
  port: number;
  /** Further names under which its pages are asked for. */
  hostNames: readonly string[];
  /** Folder of the built pages. */
  pagesFolder: string;
  logger: Logger;
}

const peoplePages = ["/sign-in", "/set-up", "/people", "/settings"];
const deskPages = ["/shops", "/log", "/log/compare", "/log/:shop/:coat", "/predictions"];

/** Starts listening on all of this machine's addresses. A taken port is an error that says what to do. */
export async function startOfficeServer(parts: OfficeServerParts): Promise<Listening> {
  const { group, people, version } = parts;
  const { wordsOf } = spokenHere(group);
  const gate: Gate = {
    wordsOf,
    personOf: (request) => {
      const session = sessionOf(request);
      return session === null ? null : people.signedIn(session);
    },
    // It holds the names of the people of several shops.
    readingIsClosed: true,
    knows: (key) => people.knows(key),
  };
  let port = parts.port;
  const isOwnHost = ownHosts({ hostNames: parts.hostNames });
  const app = httpApp({ isOwnHost, keepsToHttps: false });
  const routes = officeRoutes({ ...parts, address: () => `http://${hostname()}:${port}` });
  mount(app, routes, gate);
  app.get("/api/openapi.json", (_request, response) => {
    response.json(openApi(routes, version));
  });
  const page = pagesIn(parts.pagesFolder);
  app.get("/", (_request, response) => response.redirect("/log"));
  app.get(peoplePages, (_request, response) => response.sendFile(page("office.html"), uncached));
  app.get(deskPages, (_request, response) => response.sendFile(page("desk.html"), uncached));
  endApp(app, { ...parts, wordsOf });
  const ifTaken = `Start with another, such as: COATCLOCK_PORT=${parts.port + 1} npm start`;
  const listening = await listen({ app, port: parts.port, to: "network", ifTaken });
  port = listening.port;
  return listening;
}
