/** The routes of a head office: questions about what it holds of its shops, and its own people. Nothing here leads into a shop. */
import { z } from "zod";
import type { HeldShop, HeldShops } from "../head-office/shops.ts";
import type { People } from "../people/people.ts";
import { coatCourseSchema, type Shop } from "./api.ts";
import { pointsAtMost } from "./history.ts";
import { sendLogCsv } from "./log-csv.ts";
import {
  comparisonQuerySchema,
  comparisonSchema,
  heldCoatFileSchema,
  heldShopsSchema,
  officeHealthSchema,
  officeLogPageQuerySchema,
  officeLogQuerySchema,
  officeLogSchema,
  officeSchema,
} from "./office-api.ts";
import { OfficePredictions } from "./office-predictions.ts";
import { heldCoatFile, heldCourse, heldState, heldView, placesOf, shopName } from "./office-views.ts";
import { peopleRoutes } from "./people-routes.ts";
import { predictionQuerySchema, predictionsSchema, predictionTableQuerySchema } from "./prediction-api.ts";
import { predictionTable } from "./prediction-tables.ts";
import { HttpProblem } from "./problem.ts";
import { bookQuery, logRow } from "./proof-views.ts";
import { download, type Route, route, writtenOut } from "./route.ts";

/** The group of shops that a head office holds copies of. */
export interface Group extends Pick<Shop, "name" | "invented" | "language" | "timeZone" | "units"> {
  /** Its short name. */
  group: string;
}

export interface OfficeRouteParts {
  group: Group;
  shops: HeldShops;
  people: People;
  version: string;
  startedAtMs: number;
  now: () => number;
  /** Where its pages are found. */
  address: () => string;
}

const ofShop = z.object({ shop: z.string() });
const ofCoat = ofShop.extend({ coat: z.string() });
const iso = (ms: number): string => new Date(ms).toISOString();

export function officeRoutes(parts: OfficeRouteParts): Route[] {
  const { group, shops, people, now } = parts;
  const { book } = shops;
  const predictions = new OfficePredictions({ shops, now });
  const shopOf = (id: string): HeldShop => {
    const shop = shops.get(id);
    if (shop !== undefined) return shop;
    const known = shops.all().map((each) => each.id);
    throw new HttpProblem(404, `No shop "${id}". The group file names ${known.join(", ")}.`);
  };
  // The group file may name it no more.
  const heldOf = (id: string) => shops.get(id) ?? { id, described: null };
  const heldViews = () => Promise.all(shops.all().map((shop) => heldView(shop, book, now())));
  const placesIn = (shop: HeldShop) =>
    Object.entries(placesOf(shop).places).map(([id, { name, kind }]) => ({ id, name, kind }));

  return [
    route({
      method: "get",
      path: "/api/health",
      summary: "Versions, and how far the copy of each shop goes",
      response: officeHealthSchema,
      handle: async () => {
        const held = await heldViews();
        return {
          state: held.every(({ state }) => state === "up-to-date") ? ("ok" as const) : ("attention" as const),
          versions: { coatclock: parts.version, node: process.versions.node },
          startedAt: iso(parts.startedAtMs),
          at: iso(now()),
          shops: held,
        };
      },
    }),
    route({
      method: "get",
      path: "/api/shop",
      summary: "The head office, and the shops that it holds copies of with their places",
      response: officeSchema,
      handle: () => {
        const { group: id, name, invented, language, timeZone, units } = group;
        return {
          shop: { id, name, invented, address: parts.address(), language, timeZone, units, dim: null },
          places: [],
          asOf: iso(now()),
          shops: shops.all().map((shop) => ({
            ...shopName(shop),
            invented: shop.described?.invented ?? false,
            timeZone: shop.described?.timeZone ?? timeZone,
            units: shop.described?.units ?? units,
            places: placesIn(shop),
          })),
        };
      },
    }),
    route({
      method: "get",
      path: "/api/shops",
      summary: "How far the copy of each shop goes: when it was last heard, what is held, what is wrong with it",
      response: heldShopsSchema,
      handle: async () => ({ shops: await heldViews(), asOf: iso(now()) }),
    }),
    route({
      method: "get",
      path: "/api/log",
      summary: "The coats of all shops that fit, with what came of them, a page at a time; /api/log.csv gives them all",
      query: officeLogPageQuerySchema,
      response: officeLogSchema,
      handle: ({ query: { page, size, ...query } }) => {
        const nowMs = now();
        const { total, rows } = book.page(bookQuery(query), nowMs, { from: (page - 1) * size, size });
        return {
          rows: rows.map((row) => {
            const shop = heldOf(row.shop);
            return { ...logRow(row, placesOf(shop), nowMs), shop: shopName(shop) };
          }),
          total,
          page,
          pages: Math.max(1, Math.ceil(total / size)),
          choices: book.choices(),
          behind: shops
            .all()
            .filter(({ id }) => query.shop === undefined || query.shop === id)
            .map((shop) => ({ ...shopName(shop), state: heldState(shop, nowMs) }))
            .filter(({ state }) => state !== "up-to-date"),
        };
      },
    }),
    writtenOut({
      path: "/api/log.csv",
      summary: "All the coats of all shops that fit, with what came of them",
      query: officeLogQuerySchema,
      mediaType: "text/csv",
      handle: ({ query, response }) => {
        return sendLogCsv(
          {
            book,
            of: group.group,
            nowMs: now(),
            shopName: ({ shop }) => shopName(heldOf(shop)).name,
            placeName: ({ shop, place }) => placesOf(heldOf(shop)).places[place]?.name ?? place,
          },
          bookQuery(query),
          response,
        );
      },
    }),
    route({
      method: "get",
      path: "/api/shops/{shop}/coats/{coat}/file",
      summary:
        "All that is held of one coat: figures as its shop reckoned them, deviations and answers, entries, release",
      params: ofCoat,
      response: heldCoatFileSchema,
      handle: ({ params, words }) => heldCoatFile(shopOf(params.shop), params.coat, { book, now }, words),
    }),
    route({
      method: "get",
      path: "/api/shops/{shop}/coats/{coat}/course",
      summary: "The climate a coat had, by the readings that are held, thinned to at most `points` buckets",
      params: ofCoat,
      query: z.object({ points: z.coerce.number().int().min(1).max(pointsAtMost).default(300) }),
      response: coatCourseSchema,
      handle: ({ params, query }) =>
        heldCourse(shopOf(params.shop), params.coat, { book, nowMs: now(), points: query.points }),
    }),
    route({
      method: "get",
      path: "/api/comparison",
      summary: "The shops side by side: coats, limits, windows, waiting, and how well the predictions hold",
      query: comparisonQuerySchema,
      response: comparisonSchema,
      handle: ({ query }) => predictions.compared(query),
    }),
    route({
      method: "get",
      path: "/api/shops/{shop}/predictions",
      summary: "How well the predictions of one shop hold, by what is held of it",
      params: ofShop,
      query: predictionQuerySchema,
      response: predictionsSchema,
      handle: ({ params, query, words }) => predictions.ofShop(shopOf(params.shop), query, words),
    }),
    download({
      path: "/api/shops/{shop}/predictions.csv",
      summary: "The same as a table: what was told and checked, unless `table` names another",
      params: ofShop,
      query: predictionTableQuerySchema,
      mediaType: "text/csv",
      handle: async ({ params, query, words }) => ({
        name: `${params.shop}-${query.table}.csv`,
        bytes: Buffer.from(predictionTable(query.table, await predictions.ofShop(shopOf(params.shop), query, words))),
      }),
    }),
    ...peopleRoutes({ people, readingIsClosed: true }),
  ];
}
