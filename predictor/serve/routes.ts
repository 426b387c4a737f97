/** The routes of the API: what each takes, what it gives, and the part that answers. */
import { z } from "zod";
import { markSchema, quantityNames } from "../../collector/readings.ts";
import { text } from "../../words/text.ts";
import { type Sheet, sheetSchema } from "../cure/sheet.ts";
import type { Follow } from "../follow/follow.ts";
import { seriesOf } from "../follow/place-history.ts";
import type { Pots } from "../follow/pots.ts";
import type { SprayChecks } from "../follow/spray-checks.ts";
import type { StartBys } from "../follow/start-bys.ts";
import type { ReadingStore } from "../readings/store.ts";
import type { Records } from "../records/records.ts";
import type { ShopFile } from "../shop-file.ts";
import type { Warnings } from "../warnings/warnings.ts";
import {
  carsSchema,
  carViewSchema,
  climateHistorySchema,
  coatCourseSchema,
  coatViewSchema,
  overviewSchema,
  placeSchema,
  placeViewSchema,
  sheetsSchema,
  shopAndPlacesSchema,
} from "./api.ts";
import { carRoutes } from "./car-routes.ts";
import { type CertificateRouteParts, certificateRoutes } from "./certificate-routes.ts";
import { cureRoutes } from "./cure-routes.ts";
import { entriesSchema } from "./entries.ts";
import { type HealthParts, healthOf, healthSchema } from "./health.ts";
import { climateHistory, coatCourse, pointsAtMost } from "./history.ts";
import { type PeopleRouteParts, peopleRoutes } from "./people-routes.ts";
import { predictionRoutes } from "./prediction-routes.ts";
import { HttpProblem } from "./problem.ts";
import { type ProofRouteParts, proofRoutes } from "./proof-routes.ts";
import { entryView } from "./proof-views.ts";
import { type Route, route } from "./route.ts";
import { type SensorRouteParts, sensorRoutes } from "./sensor-routes.ts";
import { sheetRoutes } from "./sheet-routes.ts";
import type { Views } from "./views.ts";
import { warningRoutes } from "./warning-routes.ts";
import { workRoutes } from "./work-routes.ts";

export interface RouteParts
  extends HealthParts,
    SensorRouteParts,
    CertificateRouteParts,
    Pick<PeopleRouteParts, "people">,
    Pick<ProofRouteParts, "book" | "bookKeeper"> {
  warnings: Warnings;
  sprayChecks: SprayChecks;
  pots: Pots;
  startBys: StartBys;
  shopFile: ShopFile;
  store: ReadingStore;
  records: Records;
  follow: Follow;
  views: Views;
  now: () => number;
}

const ofPlace = z.object({ place: z.string() });
const ofCar = z.object({ car: z.string() });
const pointsSchema = z.coerce.number().int().min(1).max(pointsAtMost);
const instant = z.iso.datetime({ offset: true });
const span = { from: instant, to: instant };

/** An entry may be this much ahead of this machine's clock, for the clocks of phones. */
const aheadAtMostMs = 60_000;

export function routesOf(parts: RouteParts): Route[] {
  const { shopFile, store, records, follow, views, now } = parts;

  const placeOf = (id: string) => {
    const place = shopFile.places[id];
    if (place === undefined) {
      throw new HttpProblem(404, `No place "${id}". The shop file names ${Object.keys(shopFile.places).join(", ")}.`);
    }
    return place;
  };
  const sheetOf = (id: string): Sheet => {
    const sheet = records.sheets().find((each) => each.id === id);
    if (sheet !== undefined) return sheet;
    const known = records.sheets().map((each) => each.id);
    throw new HttpProblem(404, `No sheet "${id}". There are ${known.join(", ")}.`);
  };
  const pastInstant = (given: string | undefined): number => {
    const atMs = given === undefined ? now() : Date.parse(given);
    if (!(atMs <= now() + aheadAtMostMs)) {
      throw new HttpProblem(409, text("entry.ahead", { given: { dateMs: atMs }, now: { dateMs: now() } }));
    }
    return atMs;
  };
  const spanOf = (query: { from: string; to: string }) => {
    const fromMs = Date.parse(query.from);
    const toMs = Date.parse(query.to);
    if (!(fromMs < toMs)) throw new HttpProblem(400, `"from" (${query.from}) must lie before "to" (${query.to}).`);
    return { fromMs, toMs };
  };

  return [
    route({
      method: "get",
      path: "/api/health",
      summary: "Versions, store, broker, collectors, sensors and clock; packs that were refused, and why",
      response: healthSchema,
      handle: () => healthOf(parts),
    }),
    route({
      method: "get",
      path: "/api/shop",
      summary: "The shop, its places and the time by its clock",
      response: shopAndPlacesSchema,
      handle: () => ({ shop: views.shop, places: views.places(), asOf: new Date(now()).toISOString() }),
    }),
    route({
      method: "get",
      path: "/api/places",
      summary: "The places of the shop",
      response: z.object({ places: z.array(placeSchema) }),
      handle: () => ({ places: views.places() }),
    }),
    route({
      method: "get",
      path: "/api/places/{place}/wall",
      summary: "All that the wall of one place shows",
      params: ofPlace,
      response: placeViewSchema,
      isForWalls: true,
      handle: ({ params, words }) => {
        placeOf(params.place);
        return views.placeView(params.place, words);
      },
    }),
    route({
      method: "get",
      path: "/api/overview",
      summary: "All places at once, as the overview wall shows them",
      response: overviewSchema,
      isForWalls: true,
      handle: ({ words }) => views.overview(words),
    }),
    route({
      method: "get",
      path: "/api/places/{place}/climate",
      summary: "History of a place's climate, thinned to at most `points` buckets with mean, minimum and maximum",
      params: ofPlace,
      isForWalls: true,
      query: z.object({ ...span, points: pointsSchema.default(600) }),
      response: climateHistorySchema,
      handle: ({ params, query }) => {
        const { fromMs, toMs } = spanOf(query);
        placeOf(params.place);
        const stays = [{ place: params.place, fromMs, toMs }];
        return climateHistory(store, shopFile.places, stays, { fromMs, toMs, points: query.points });
      },
    }),
    route({
      method: "get",
      path: "/api/places/{place}/readings",
      summary:
        "The readings of one quantity of a place as they were stored, or five-minute means where they are no longer kept; at most 100,000",
      params: ofPlace,
      query: z.object({ ...span, quantity: z.enum(quantityNames) }),
      response: z.object({
        sensor: z.string().nullable(),
        readings: z.array(
          z.object({
            at: z.string(),
            value: z.number(),
            mark: markSchema.optional(),
            /** The mean of so long a stretch, where single readings are no longer kept. */
            meanOverMs: z.number().optional(),
          }),
        ),
      }),
      handle: async ({ params, query }) => {
        const { fromMs, toMs } = spanOf(query);
        const series = seriesOf(placeOf(params.place)).find((each) => each.quantity === query.quantity);
        if (series === undefined) return { sensor: null, readings: [] };
        const samples = await store.range(series, fromMs, toMs);
        if (samples.length > 100_000) {
          throw new HttpProblem(
            400,
            `${samples.length} readings lie in that span; ask for a shorter one, or for /climate.`,
          );
        }
        return {
          sensor: `${series.collector}/${series.sensor}`,
          readings: samples.map(({ atMs, ...sample }) => ({ at: new Date(atMs).toISOString(), ...sample })),
        };
      },
    }),
    route({
      method: "get",
      path: "/api/sheets",
      summary: "The newest revision of each sheet",
      response: sheetsSchema,
      handle: () => ({ sheets: records.sheets() }),
    }),
    route({
      method: "get",
      path: "/api/sheets/{sheet}/{revision}",
      summary: "One revision of a sheet",
      params: z.object({ sheet: z.string(), revision: z.coerce.number().int().positive() }),
      response: sheetSchema,
      handle: ({ params }) => records.sheet(params.sheet, params.revision),
    }),
    route({
      method: "get",
      path: "/api/cars",
      summary: "Cars in the shop by what happens next, with the coats that nobody covered yet",
      response: carsSchema,
      handle: ({ words }) => views.cars(words),
    }),
    route({
      method: "get",
      path: "/api/cars/{car}",
      summary: "One car",
      params: ofCar,
      response: carViewSchema,
      handle: ({ params, words }) => views.car(records.car(params.car), words),
    }),
    route({
      method: "get",
      path: "/api/cars/{car}/entries",
      summary: "All that was recorded about a car and its coats, with who, when and the hash of each entry",
      params: ofCar,
      response: entriesSchema,
      handle: ({ params, words }) => ({
        entries: records
          .entriesOf({ carId: params.car })
          .map((entry) => ({ ...entry, ...entryView(entry, parts, words) })),
      }),
    }),
    route({
      method: "get",
      path: "/api/coats/{coat}",
      summary: "One coat, followed through the history it had",
      params: z.object({ coat: z.string() }),
      response: coatViewSchema,
      handle: async ({ params, words }) => views.coat(await follow.coat(params.coat), words),
    }),
    route({
      method: "get",
      path: "/api/coats/{coat}/course",
      summary: "The climate a coat had and how far it cured, from its finish on, thinned to at most `points` buckets",
      params: z.object({ coat: z.string() }),
      query: z.object({ points: pointsSchema.default(300) }),
      response: coatCourseSchema,
      handle: async ({ params, query }) =>
        coatCourse(store, shopFile.places, await follow.coat(params.coat), { nowMs: now(), points: query.points }),
    }),
    ...carRoutes({ ...parts, placeOf, pastInstant }),
    ...cureRoutes({ ...parts, placeOf, sheetOf, pastInstant }),
    ...workRoutes({ ...parts, sheetOf }),
    ...sheetRoutes({ records }),
    ...predictionRoutes({ ...parts, placeOf, sheetOf }),
    ...warningRoutes(parts),
    ...proofRoutes(parts),
    ...sensorRoutes(parts),
    ...certificateRoutes(parts),
    ...peopleRoutes({ people: parts.people, readingIsClosed: shopFile.reading === "signed-in" }),
  ];
}
