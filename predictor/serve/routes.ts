/** The routes of the API: what each takes, what it gives, and the part that answers. */
import { z } from "zod";
import { markSchema, quantityNames } from "../../collector/readings.ts";
import { dryFilmUm } from "../cure/film.ts";
import type { Follow } from "../follow/follow.ts";
import { seriesOf } from "../follow/place-history.ts";
import type { Pots } from "../follow/pots.ts";
import type { StartBys } from "../follow/start-bys.ts";
import type { ReadingStore } from "../readings/store.ts";
import type { Records } from "../records/records.ts";
import type { ShopFile } from "../shop-file.ts";
import {
  carsSchema,
  carViewSchema,
  climateHistorySchema,
  coatViewSchema,
  placeSchema,
  placeViewSchema,
  sheetsSchema,
} from "./api.ts";
import { cureRoutes } from "./cure-routes.ts";
import { coatCorrectionSchema, newCarSchema, newCoatSchema, newMoveSchema } from "./entries.ts";
import { type HealthParts, healthOf, healthSchema } from "./health.ts";
import { climateHistory, pointsAtMost } from "./history.ts";
import { HttpProblem } from "./problem.ts";
import { type Route, route } from "./route.ts";
import type { Views } from "./views.ts";

export interface RouteParts extends HealthParts {
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
const ofCoat = z.object({ coat: z.string() });
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
  const pastInstant = (what: string, given: string | undefined): number => {
    const atMs = given === undefined ? now() : Date.parse(given);
    if (!(atMs <= now() + aheadAtMostMs)) {
      throw new HttpProblem(
        409,
        `${what} at ${given} lies ahead of this machine's clock (${new Date(now()).toISOString()}).`,
      );
    }
    return atMs;
  };
  const spanOf = (query: { from: string; to: string }) => {
    const fromMs = Date.parse(query.from);
    const toMs = Date.parse(query.to);
    if (!(fromMs < toMs)) throw new HttpProblem(400, `"from" (${query.from}) must lie before "to" (${query.to}).`);
    return { fromMs, toMs };
  };

  const dryFilm = ({ sheet: id, wetFilm }: z.infer<typeof newCoatSchema>): number | undefined => {
    if (wetFilm === undefined) return undefined;
    const solids = records.sheets().find((sheet) => sheet.id === id)?.solidsByVolumePercent;
    if (solids === undefined) {
      throw new HttpProblem(409, `Sheet ${id} gives no solidsByVolumePercent: enter the dry film as filmUm instead.`);
    }
    return dryFilmUm(wetFilm.wetUm, solids, wetFilm.thinnedPercent / 100);
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
      handle: ({ params }) => {
        placeOf(params.place);
        return views.placeView(params.place);
      },
    }),
    route({
      method: "get",
      path: "/api/places/{place}/climate",
      summary: "History of a place's climate, thinned to at most `points` buckets with mean, minimum and maximum",
      params: ofPlace,
      query: z.object({ ...span, points: z.coerce.number().int().min(1).max(pointsAtMost).default(600) }),
      response: climateHistorySchema,
      handle: ({ params, query }) => {
        const { fromMs, toMs } = spanOf(query);
        return climateHistory(store, placeOf(params.place), fromMs, toMs, query.points);
      },
    }),
    route({
      method: "get",
      path: "/api/places/{place}/readings",
      summary: "The readings of one quantity of a place as they were stored, at most 100,000",
      params: ofPlace,
      query: z.object({ ...span, quantity: z.enum(quantityNames) }),
      response: z.object({
        sensor: z.string().nullable(),
        readings: z.array(z.object({ at: z.string(), value: z.number(), mark: markSchema.optional() })),
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
      path: "/api/cars",
      summary: "Cars in the shop by what happens next, with the coats that nobody covered yet",
      response: carsSchema,
      handle: () => views.cars(),
    }),
    route({
      method: "post",
      path: "/api/cars",
      summary: "Takes in a car with its panels, in a place",
      body: newCarSchema,
      status: 201,
      response: carViewSchema,
      handle: ({ body }) => {
        placeOf(body.place);
        const { job, name, panels, place } = body;
        return views.car(records.addCar({ job, name, panels, place, atMs: pastInstant("An arrival", body.at) }));
      },
    }),
    route({
      method: "get",
      path: "/api/cars/{car}",
      summary: "One car",
      params: ofCar,
      response: carViewSchema,
      handle: ({ params }) => views.car(records.car(params.car)),
    }),
    route({
      method: "post",
      path: "/api/cars/{car}/moves",
      summary: "Records that the car stands in another place from an instant on",
      params: ofCar,
      body: newMoveSchema,
      status: 201,
      response: carViewSchema,
      handle: ({ params, body }) => {
        placeOf(body.place);
        return views.car(records.addMove(params.car, body.place, pastInstant("A move", body.at)));
      },
    }),
    route({
      method: "post",
      path: "/api/cars/{car}/departure",
      summary: "Records that the car left the shop",
      params: ofCar,
      body: z.strictObject({ at: instant.optional() }),
      status: 201,
      response: carViewSchema,
      handle: ({ params, body }) => views.car(records.addMove(params.car, null, pastInstant("A departure", body.at))),
    }),
    route({
      method: "post",
      path: "/api/cars/{car}/coats",
      summary: "Records a finished coat on some panels; one coat for each substrate among them",
      params: ofCar,
      body: newCoatSchema,
      status: 201,
      response: z.object({ coats: z.array(coatViewSchema) }),
      handle: async ({ params, body }) => {
        const coats = records.addCoats(params.car, {
          panels: body.panels,
          sheetId: body.sheet,
          finishedAtMs: pastInstant("A coat finished", body.finishedAt),
          filmUm: body.filmUm ?? dryFilm(body) ?? null,
          panelAtFinishC: body.panelAtFinishC ?? null,
        });
        return { coats: await Promise.all(coats.map(async (coat) => views.coat(await follow.coat(coat.id)))) };
      },
    }),
    route({
      method: "get",
      path: "/api/coats/{coat}",
      summary: "One coat, followed through the history it had",
      params: ofCoat,
      response: coatViewSchema,
      handle: async ({ params }) => views.coat(await follow.coat(params.coat)),
    }),
    route({
      method: "patch",
      path: "/api/coats/{coat}",
      summary: "Corrects a coat's finish or film build; the old value and the reason are kept",
      params: ofCoat,
      body: coatCorrectionSchema,
      response: coatViewSchema,
      handle: async ({ params, body }) => {
        const { reason, filmUm } = body;
        records.correctCoat(params.coat, {
          reason,
          atMs: now(),
          ...(filmUm === undefined ? {} : { filmUm }),
          ...(body.finishedAt === undefined ? {} : { finishedAtMs: pastInstant("A coat finished", body.finishedAt) }),
        });
        return views.coat(await follow.coat(params.coat));
      },
    }),
    route({
      method: "get",
      path: "/api/coats/{coat}/corrections",
      summary: "What was corrected on a coat, when and why",
      params: ofCoat,
      response: z.object({
        corrections: z.array(
          z.object({
            at: z.string(),
            reason: z.string(),
            field: z.string(),
            was: z.union([z.string(), z.number()]).nullable(),
            became: z.union([z.string(), z.number()]),
          }),
        ),
      }),
      handle: ({ params }) => {
        const shown = (field: string, value: number) =>
          field === "finishedAtMs" ? new Date(value).toISOString() : value;
        records.coat(params.coat);
        return {
          corrections: records.corrections(params.coat).map(({ atMs, reason, field, was, became }) => ({
            at: new Date(atMs).toISOString(),
            reason,
            field: field === "finishedAtMs" ? "finishedAt" : field,
            was: was === null ? null : shown(field, was),
            became: shown(field, became),
          })),
        };
      },
    }),
    ...cureRoutes({ ...parts, placeOf, pastInstant }),
  ];
}
