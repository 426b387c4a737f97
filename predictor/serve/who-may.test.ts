/** Who may do what, written down by hand: a route that declares too much or too little is found against this. */
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { ask, openShop, type ServedShop } from "../../tests/served-shop.ts";
import { type Role, roles } from "../people/people.ts";

/** Walls read what is theirs always; readers are all on the shop's network, or those signed in; visitors are about to sign in. */
type Who = "walls" | "readers" | "visitors" | readonly Role[];
const everyone: Who = ["painter", "quality", "installer"];

const table: Readonly<Record<string, Who>> = {
  "get /api/health": "readers",
  "get /api/shop": "readers",
  "get /api/places": "readers",
  "get /api/places/{place}/wall": "walls",
  "get /api/overview": "walls",
  "get /api/places/{place}/climate": "walls",
  "get /api/places/{place}/readings": "readers",
  "get /api/sheets": "readers",
  "get /api/sheets/{sheet}/{revision}": "readers",
  "get /api/sheet-files": "readers",
  "get /api/sheet-files/{sheet}/{revision}": "readers",
  "post /api/sheet-drafts/check": "readers",
  "post /api/sheet-files": ["quality", "installer"],
  "post /api/sheet-files/{sheet}/{revision}/approval": ["quality"],
  "get /api/sheet-files/{sheet}/{revision}/yaml": "readers",
  "post /api/sheet-drafts/read": "readers",
  "get /api/cars": "readers",
  "post /api/cars": everyone,
  "get /api/cars/{car}": "readers",
  "get /api/cars/{car}/entries": "readers",
  "post /api/cars/{car}/panels": everyone,
  "post /api/cars/{car}/promise": everyone,
  "post /api/cars/{car}/moves": everyone,
  "patch /api/cars/{car}/moves": everyone,
  "post /api/cars/{car}/departure": everyone,
  "post /api/cars/{car}/coats": everyone,
  "get /api/coats/{coat}": "readers",
  "patch /api/coats/{coat}": everyone,
  "post /api/coats/{coat}/withdrawal": everyone,
  "get /api/coats/{coat}/course": "readers",
  "get /api/coats/{coat}/file": "readers",
  "post /api/coats/{coat}/sign-offs": ["quality"],
  "post /api/coats/{coat}/hold": ["quality"],
  "post /api/coats/{coat}/reopening": ["quality"],
  "post /api/coats/{coat}/deviation-answers": ["quality"],
  "get /api/log": "readers",
  "get /api/log.csv": "readers",
  "get /api/predictions.csv": "readers",
  "get /api/predictions": "readers",
  "get /api/certificates/{digest}/print": "readers",
  "get /api/certificates/{digest}/file": "readers",
  "post /api/cars/{car}/certificates": ["quality"],
  "post /api/coats/{coat}/certificates": ["quality"],
  "get /api/sensors/coverage": "readers",
  "get /api/sensors/differences": "readers",
  "get /api/sensors": "readers",
  "post /api/coats/{coat}/checks": everyone,
  "post /api/checks/{check}/withdrawal": everyone,
  "get /api/lessons": "readers",
  "get /api/mixes": "readers",
  "post /api/mixes": everyone,
  "post /api/mixes/{mix}/emptied": everyone,
  "post /api/what-if": "readers",
  "get /api/start-by": "readers",
  "get /api/spray-check": "readers",
  "get /api/panels": "readers",
  "post /api/mix-quantity": "readers",
  "get /api/warnings": "readers",
  "post /api/warnings/answers": everyone,
  "post /api/warnings/set-aside": everyone,
  "get /api/me": "visitors",
  "post /api/sign-in": "visitors",
  "post /api/sign-out": "visitors",
  "post /api/set-up": "visitors",
  "post /api/me/pin": "visitors",
  "get /api/people": "readers",
  "post /api/people": ["installer"],
  "patch /api/people/{name}": ["installer"],
};
const routes = Object.entries(table).map(([route, who]) => {
  const [method = "", path = ""] = route.split(" ");
  return { route, method, path, who };
});

interface Described {
  paths: Record<string, Record<string, { security?: unknown[]; responses: Record<string, { content: object }> }>>;
}

let open: ServedShop;
let closed: ServedShop;
beforeAll(async () => {
  open = await openShop();
  closed = await openShop(", reading: signed-in");
});
afterAll(async () => {
  await open.close();
  await closed.close();
});

/** With nothing in it: who may gets on to what is missing. */
const knock = async (shop: ServedShop, method: string, path: string, cookie = "") => {
  const body = method === "get" ? {} : { body: "{}", headers: { cookie, "content-type": "application/json" } };
  const asked = { method: method.toUpperCase(), headers: { cookie }, ...body };
  return (await fetch(shop.base + path.replaceAll(/\{\w+\}/g, "none"), asked)).status;
};
const described = async () => ((await ask(open, "/api/openapi.json")).body as Described).paths;

describe("who may do what", () => {
  it("is written down here for every route there is", async () => {
    const declared = Object.entries(await described()).flatMap(([path, methods]) =>
      Object.keys(methods).map((method) => `${method} ${path}`),
    );
    expect(declared.sort()).toEqual(Object.keys(table).sort());
  });

  it.each(routes)("is kept at $route", async ({ method, path, who }) => {
    const nobody = await knock(closed, method, path);
    if (typeof who === "string") {
      expect(nobody === 401).toBe(who === "readers");
      expect([401, 403]).not.toContain(await knock(open, method, path));
      return;
    }
    expect(nobody).toBe(401);
    expect(await knock(open, method, path)).toBe(401);
    for (const role of roles) {
      const status = await knock(open, method, path, open.cookies[role]);
      expect(status === 403, `${role}: ${status}`).toBe(!who.includes(role));
      expect(status, role).not.toBe(401);
    }
  });

  it.each(routes)("is described for $route, and how one is refused", async ({ method, path, who }) => {
    const operation = (await described())[path]?.[method];
    const isEntry = typeof who !== "string";
    const looksAtPin = ["/api/sign-in", "/api/set-up", "/api/me/pin"].includes(path);
    const statuses = Object.keys(operation?.responses ?? {});
    expect(operation?.security !== undefined).toBe(isEntry);
    expect(statuses.includes("401")).toBe(isEntry || who === "readers" || looksAtPin);
    expect(statuses.includes("403")).toBe(method !== "get");
    expect(statuses.includes("429")).toBe(looksAtPin || (isEntry && path.startsWith("/api/people")));
    expect(JSON.stringify(operation?.responses[200] ?? {}).includes('"known"')).toBe(isEntry);
  });
});
