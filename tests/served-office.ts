/** A head office served on a free port, for the tests of what it serves and shows. */
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pino } from "pino";
import { People } from "../predictor/people/people.ts";
import { Records } from "../predictor/records/records.ts";
import { startOfficeServer } from "../predictor/serve/office-server.ts";
import { type InventedShop, openHeldShops } from "./held-shops.ts";
import { signIn, testPin } from "./served-shop.ts";

export type ServedOffice = Awaited<ReturnType<typeof openOffice>>;

/** `builtPages` is a folder of built pages; stand-ins without one. */
export async function openOffice(
  invented: readonly InventedShop[],
  { builtPages, isSetUp = true }: { builtPages?: string; isSetUp?: boolean } = {},
) {
  const shops = await openHeldShops(invented);
  const now = Date.now;
  const records = new Records({ file: join(shops.folder, "records.db"), now, clock: () => "synchronised" });
  const rehearsalPin = isSetUp ? testPin : null;
  const people = await People.open({ file: join(shops.folder, "people.db"), records, now, rehearsalPin });
  const server = await startOfficeServer({
    group: {
      group: "tested-group",
      name: "Tested group",
      invented: true,
      language: "en",
      timeZone: "Europe/Berlin",
      units: { temperature: "C", clock: "24h" },
    },
    shops,
    people,
    version: "0.0.0-test",
    startedAtMs: now(),
    now,
    port: 0,
    hostNames: [],
    pagesFolder: builtPages ?? standInPages(join(shops.folder, "pages")),
    logger: pino({ level: "silent" }),
  });
  const base = `http://127.0.0.1:${server.port}`;
  return {
    base,
    shops,
    records,
    people,
    /** Of the quality lead; empty while nobody can sign in. */
    cookie: isSetUp ? await signIn(base, "Quality A") : "",
    async close() {
      await server.stop();
      people.close();
      records.close();
      await shops.close();
    },
  };
}

function standInPages(folder: string): string {
  mkdirSync(join(folder, "assets"), { recursive: true });
  for (const name of ["index", "office", "desk", "wall"])
    writeFileSync(join(folder, `${name}.html`), `<title>${name}</title>`);
  return folder;
}

/** Asks as the quality lead, unless another cookie is given. */
export async function askOffice({ base, cookie }: ServedOffice, path: string, as = cookie) {
  const response = await fetch(base + path, { headers: { cookie: as } });
  const text = await response.text();
  const isJson = response.headers.get("content-type")?.includes("json") === true;
  return {
    status: response.status,
    headers: response.headers,
    text,
    body: isJson ? (JSON.parse(text) as unknown) : null,
  };
}
