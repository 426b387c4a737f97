/** The HTTP server of a head office: it is asked, by those signed in, and writes nothing but who they are. */
import { hostname } from "node:os";
import type { Logger } from "pino";
import { endApp, httpApp, type Listening, listen, pagesIn, spokenHere, uncached } from "./http-app.ts";
import { sendLogCsv } from "./log-csv.ts";
import { officeLogQuerySchema } from "./office-api.ts";
import { type OfficeRouteParts, officeRoutes } from "./office-routes.ts";
import { placesOf, shopName } from "./office-views.ts";
import { openApi } from "./open-api.ts";
import { inputProblem } from "./problem.ts";
import { bookQuery } from "./proof-views.ts";
import { type Gate, mount, refuseReading } from "./route.ts";
import { sessionOf } from "./session-cookies.ts";

export interface OfficeServerParts extends Omit<OfficeRouteParts, "address"> {
  port: number;
  /** Folder of the built pages. */
  pagesFolder: string;
  logger: Logger;
}

const peoplePages = ["/sign-in", "/set-up", "/people", "/settings"];
const deskPages = ["/shops", "/log", "/log/compare", "/log/:shop/:coat", "/predictions"];

/** Starts listening on all of this machine's addresses. A taken port is an error that says what to do. */
export async function startOfficeServer(parts: OfficeServerParts): Promise<Listening> {
  const { group, shops, people, version, now } = parts;
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
  const app = httpApp();
  const routes = officeRoutes({ ...parts, address: () => `http://${hostname()}:${port}` });
  mount(app, routes, gate);
  app.get("/api/log.csv", async (request, response) => {
    refuseReading(request, gate);
    const query = officeLogQuerySchema.safeParse(request.query);
    if (!query.success) throw inputProblem("query", request.query, query.error);
    const shopOf = (id: string) => shops.get(id) ?? { id, described: null };
    await sendLogCsv(
      {
        book: shops.book,
        of: group.group,
        nowMs: now(),
        shopName: ({ shop }) => shopName(shopOf(shop)).name,
        placeName: ({ shop, place }) => placesOf(shopOf(shop)).places[place]?.name ?? place,
      },
      bookQuery(query.data),
      response,
    );
  });
  app.get("/api/openapi.json", (_request, response) => {
    response.json(openApi(routes, version));
  });
  const page = pagesIn(parts.pagesFolder);
  app.get("/", (_request, response) => response.redirect("/log"));
  app.get(peoplePages, (_request, response) => response.sendFile(page("office.html"), uncached));
  app.get(deskPages, (_request, response) => response.sendFile(page("desk.html"), uncached));
  endApp(app, { ...parts, wordsOf });
  const listening = await listen(app, parts.port);
  port = listening.port;
  return listening;
}
