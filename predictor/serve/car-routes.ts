/** The routes by which cars, their moves and their coats are recorded. */
import { z } from "zod";
import { text } from "../../words/text.ts";
import { dryFilmUm } from "../cure/film.ts";
import type { Follow } from "../follow/follow.ts";
import type { SprayChecks } from "../follow/spray-checks.ts";
import type { Car, Records } from "../records/records.ts";
import { carViewSchema, coatViewSchema } from "./api.ts";
import {
  coatCorrectionSchema,
  morePanelsSchema,
  moveCorrectionSchema,
  newCarSchema,
  newCoatSchema,
  newMoveSchema,
  promiseSchema,
  withdrawalSchema,
} from "./entries.ts";
import { HttpProblem } from "./problem.ts";
import { entry, type Route } from "./route.ts";
import type { Views } from "./views.ts";

export interface CarRouteParts {
  records: Records;
  follow: Pick<Follow, "coat">;
  views: Views;
  sprayChecks: Pick<SprayChecks, "at">;
  /** Throws for a place that there is not. */
  placeOf: (id: string) => unknown;
  /** UTC ms of an instant that was given, or now; throws for one that lies ahead. */
  pastInstant: (given: string | undefined) => number;
}

const ofCar = z.object({ car: z.string() });
const ofCoat = z.object({ coat: z.string() });
const instant = z.iso.datetime({ offset: true });

export function carRoutes({ records, follow, views, sprayChecks, placeOf, pastInstant }: CarRouteParts): Route[] {
  const dryFilm = ({ sheet: id, wetFilm }: z.infer<typeof newCoatSchema>): number | undefined => {
    if (wetFilm === undefined) return undefined;
    const solids = records.sheets().find((sheet) => sheet.id === id)?.solidsByVolumePercent;
    if (solids === undefined) throw new HttpProblem(409, text("entry.no-solids", { sheet: id }));
    return dryFilmUm(wetFilm.wetUm, solids, wetFilm.thinnedPercent / 100);
  };

  return [
    entry({
      method: "post",
      path: "/api/cars",
      summary: "Takes in a car with its panels, in a place",
      body: newCarSchema,
      response: carViewSchema,
      handle: ({ body, words, by }) => {
        placeOf(body.place);
        const { id, job, name, panels, place, colour = null, promisedAt, at } = body;
        const promisedAtMs = promisedAt === undefined ? null : Date.parse(promisedAt);
        const car = { job, name, panels, place, colour, promisedAtMs, atMs: pastInstant(at) };
        return views.car(records.addCar(id === undefined ? car : { ...car, id }, by), words);
      },
    }),
    entry({
      method: "post",
      path: "/api/cars/{car}/panels",
      summary: "Adds panels to a car, as when more damage is found",
      params: ofCar,
      body: morePanelsSchema,
      response: carViewSchema,
      handle: ({ params, body, words, by }) => views.car(records.addPanels(params.car, body.panels, by), words),
    }),
    entry({
      method: "post",
      path: "/api/cars/{car}/promise",
      summary: "Records by when a car was promised, or that it is no more",
      params: ofCar,
      body: promiseSchema,
      response: carViewSchema,
      handle: ({ params, body, words, by }) => {
        const atMs = body.promisedAt === null ? null : Date.parse(body.promisedAt);
        return views.car(records.promise(params.car, atMs, by), words);
      },
    }),
    entry({
      method: "post",
      path: "/api/cars/{car}/moves",
      summary: "Records that the car stands in another place from an instant on",
      params: ofCar,
      body: newMoveSchema,
      response: carViewSchema,
      handle: ({ params, body, words, by }) => {
        placeOf(body.place);
        return views.car(records.addMove(params.car, body.place, pastInstant(body.at), by), words);
      },
    }),
    entry({
      method: "patch",
      path: "/api/cars/{car}/moves",
      summary: "Corrects the place or the instant of a move; the old one and the reason are kept",
      params: ofCar,
      body: moveCorrectionSchema,
      status: 200,
      response: carViewSchema,
      handle: ({ params, body, words, by }) => {
        const { was, reason, place, at } = body;
        if (place !== undefined) placeOf(place);
        const correction = {
          reason,
          ...(place === undefined ? {} : { place }),
          ...(at === undefined ? {} : { atMs: pastInstant(at) }),
        };
        return views.car(records.correctMove(params.car, Date.parse(was), correction, by), words);
      },
    }),
    entry({
      method: "post",
      path: "/api/cars/{car}/departure",
      summary: "Records that the car left the shop",
      params: ofCar,
      body: z.strictObject({ at: instant.optional() }),
      response: carViewSchema,
      handle: ({ params, body, words, by }) =>
        views.car(records.addMove(params.car, null, pastInstant(body.at), by), words),
    }),
    entry({
      method: "post",
      path: "/api/cars/{car}/coats",
      summary: "Records a finished coat on some panels; one coat for each substrate among them, with the spray check",
      params: ofCar,
      body: newCoatSchema,
      response: z.object({ coats: z.array(coatViewSchema) }),
      handle: async ({ params, body, words, by }) => {
        const finishedAtMs = pastInstant(body.finishedAt);
        const place = placeThen(records.car(params.car), finishedAtMs);
        const coats = records.addCoats(
          params.car,
          {
            panels: body.panels,
            sheetId: body.sheet,
            finishedAtMs,
            filmUm: body.filmUm ?? dryFilm(body) ?? null,
            panelAtFinishC: body.panelAtFinishC ?? null,
            batches: body.batches ?? [],
            sprayCheck: place === null ? null : await sprayChecks.at(place, body.sheet, finishedAtMs),
          },
          by,
        );
        return { coats: await Promise.all(coats.map(async ({ id }) => views.coat(await follow.coat(id), words))) };
      },
    }),
    entry({
      method: "patch",
      path: "/api/coats/{coat}",
      summary: "Corrects a coat's finish, film build or sheet; the old value and the reason are kept",
      params: ofCoat,
      body: coatCorrectionSchema,
      status: 200,
      response: coatViewSchema,
      handle: async ({ params, body, words, by }) => {
        const { reason, filmUm, sheet, finishedAt } = body;
        const correction = {
          reason,
          ...(filmUm === undefined ? {} : { filmUm }),
          ...(sheet === undefined ? {} : { sheetId: sheet }),
          ...(finishedAt === undefined ? {} : { finishedAtMs: pastInstant(finishedAt) }),
        };
        records.correctCoat(params.coat, correction, by);
        return views.coat(await follow.coat(params.coat), words);
      },
    }),
    entry({
      method: "post",
      path: "/api/coats/{coat}/withdrawal",
      summary: "Withdraws a coat that was entered by mistake: it is kept with the reason, and followed no more",
      params: ofCoat,
      body: withdrawalSchema,
      response: carViewSchema,
      handle: ({ params, body, words, by }) => {
        const { carId } = records.withdrawCoat(params.coat, body.reason, by);
        return views.car(records.car(carId), words);
      },
    }),
  ];
}

/** Where the car stood at an instant; null when it was not in the shop. */
function placeThen({ moves }: Car, atMs: number): string | null {
  return moves.findLast((move) => move.atMs <= atMs)?.place ?? null;
}
