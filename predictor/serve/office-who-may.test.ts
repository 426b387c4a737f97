/** Who may do what at a head office, written down by hand: nothing there is an entry of a shop, and reading is for those signed in. */
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { openOffice, type ServedOffice } from "../../tests/served-office.ts";
import { ask, openShop, signIn } from "../../tests/served-shop.ts";
import { type Role, roles } from "../people/people.ts";

/** Readers are signed in; visitors are about to be. */
type Who = "readers" | "visitors" | readonly Role[];

const table: Readonly<Record<string, Who>> = {
  "get /api/health": "readers",
  "get /api/shop": "readers",
  "get /api/shops": "readers",
  "get /api/log": "readers",
  "get /api/log.csv": "readers",
  "get /api/shops/{shop}/coats/{coat}/file": "readers",
  "get /api/shops/{shop}/coats/{coat}/course": "readers",
  "get /api/comparison": "readers",
  "get /api/shops/{shop}/predictions": "readers",
  "get /api/shops/{shop}/predictions.csv": "readers",
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

let office: ServedOffice;
const cookies = {} as Record<Role, string>;
let ofShop: string[];
beforeAll(async () => {
  office = await openOffice([{ id: "north", name: "Invented north" }]);
  cookies.painter = await signIn(office.base, "Painter A");
  cookies.quality = office.cookie;
  cookies.installer = await signIn(office.base, "Installer A");
  const shop = await openShop();
  const { body } = await ask(shop, "/api/openapi.json");
  ofShop = routesIn(body);
  await shop.close();
});
afterAll(() => office?.close());

const routesIn = (described: unknown) =>
  Object.entries((described as { paths: Record<string, object> }).paths).flatMap(([path, methods]) =>
    Object.keys(methods).map((method) => `${method} ${path}`),
  );

/** With nothing in it: who may gets on to what is missing. */
const knock = async (method: string, path: string, cookie = "") => {
  const body = method === "get" ? {} : { body: "{}", headers: { cookie, "content-type": "application/json" } };
  const asked = { method: method.toUpperCase(), headers: { cookie }, ...body };
  return (await fetch(office.base + path.replaceAll(/\{\w+\}/g, "none"), asked)).status;
};

describe("who may do what at a head office", () => {
  it("is written down here for every route there is", async () => {
    const declared = routesIn(await (await fetch(`${office.base}/api/openapi.json`)).json());
    expect(declared.sort()).toEqual(Object.keys(table).sort());
  });

  it.each(routes)("is kept at $route", async ({ method, path, who }) => {
    const nobody = await knock(method, path);
    if (typeof who === "string") {
      expect(nobody === 401).toBe(who === "readers");
      // Signing out is for who is signed in, and ends it.
      if (who === "readers")
        for (const role of roles) expect([401, 403], role).not.toContain(await knock(method, path, cookies[role]));
      return;
    }
    expect(nobody).toBe(401);
    for (const role of roles) {
      const status = await knock(method, path, cookies[role]);
      expect(status === 403, `${role}: ${status}`).toBe(!who.includes(role));
      expect(status, role).not.toBe(401);
    }
  });

  it("has none of the ways by which a shop is written into, whoever asks", async () => {
    const entries = ofShop.filter((route) => !route.startsWith("get ") && !(route in table));
    expect(entries.length).toBeGreaterThan(20);
    for (const route of entries) {
      const [method = "", path = ""] = route.split(" ");
      for (const role of roles) expect(await knock(method, path, cookies[role]), route).toBe(404);
    }
    // Nor by the way that a coat is read.
    for (const method of ["post", "put", "patch", "delete"]) {
      expect(await knock(method, "/api/shops/north/coats/none/file", cookies.quality)).toBe(404);
    }
    expect(office.shops.get("north")?.records.head()).toBeNull();
  });

  it("is set up with the link's token by the first person, in the head office's own records", async () => {
    const fresh = await openOffice([{ id: "north", name: "Invented north" }], { isSetUp: false });
    const token = fresh.people.setUpToken();
    const setUp = async (given: string | null) =>
      await fetch(`${fresh.base}/api/set-up`, {
        method: "POST",
        headers: { "content-type": "application/json" },
        body: JSON.stringify({ token: given, name: "Installer N", pin: "8362" }),
      });
    expect((await setUp("wrong")).status).toBe(401);
    const done = await setUp(token);
    expect([done.status, await done.json()]).toMatchObject([200, { person: { role: "installer" } }]);
    expect(fresh.records.head()?.seq).toBe(1);
    expect(fresh.shops.get("north")?.records.head()).toBeNull();
    await fresh.close();
  });
});
