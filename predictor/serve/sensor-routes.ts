/** The routes about sensors: how they do, how neighbours differed, how much of each day is known. */

import { neighbourBounds } from "../follow/neighbours.ts";
import { comparedSeriesOf, seriesOf } from "../follow/place-history.ts";
import { type Coverage, stepMinutes } from "../proof/coverage.ts";
import { differenceTrail } from "../proof/differences.ts";
import type { ReadingStore } from "../readings/store.ts";
import type { Place } from "./api.ts";
import { type Route, route } from "./route.ts";
import {
  coverageQuerySchema,
  coverageSchema,
  type DifferenceView,
  differencesQuerySchema,
  differencesSchema,
  sensorsSchema,
} from "./sensor-api.ts";
import { nameOf, type SensorViewParts, sensorViews } from "./sensor-views.ts";

export interface SensorRouteParts extends SensorViewParts {
  store: Pick<ReadingStore, "thin">;
  coverage: Pick<Coverage, "count">;
}

/** After so long what is counted is told, and the rest left for the next question: pages wait ten seconds at most. */
const countWithinMs = 3_000;

export function sensorRoutes(parts: SensorRouteParts): Route[] {
  const { coverage, shopFile, store, now } = parts;
  const placeOf = (id: string): Place => {
    const { name, kind } = shopFile.places[id] as (typeof shopFile.places)[string];
    return { id, name, kind };
  };
  return [
    route({
      method: "get",
      path: "/api/sensors",
      summary:
        "Every sensor of every place, the worst first: health, correction and its history, calibration, neighbour",
      response: sensorsSchema,
      handle: ({ words }) => ({ sensors: sensorViews(parts, words) }),
    }),
    route({
      method: "get",
      path: "/api/sensors/differences",
      summary: "How sensors that are compared differed over the last days, half hour by half hour",
      query: differencesQuerySchema,
      response: differencesSchema,
      handle: async ({ query }) => {
        const pairs: DifferenceView[] = [];
        for (const [id, settings] of Object.entries(shopFile.places)) {
          const compared = comparedSeriesOf(settings);
          for (const first of seriesOf(settings)) {
            const second = compared.find(({ quantity }) => quantity === first.quantity);
            if (second === undefined) continue;
            const bound = neighbourBounds[first.quantity];
            const trail = await differenceTrail(store, [first, second], { nowMs: now(), days: query.days, bound });
            const { fromMs, by, atFirst, lately, beyond } = trail;
            pairs.push({
              place: placeOf(id),
              quantity: first.quantity,
              sensors: [nameOf(first), nameOf(second)],
              bound,
              stepMinutes: 30,
              from: new Date(fromMs).toISOString(),
              by,
              atFirst,
              lately,
              beyond: beyond && { since: new Date(beyond.sinceMs).toISOString(), orBefore: beyond.orBefore },
            });
          }
        }
        return { pairs };
      },
    }),
    route({
      method: "get",
      path: "/api/sensors/coverage",
      summary:
        "For how many minutes of each day of the shop's calendar there are readings of each place, in five-minute steps",
      query: coverageQuerySchema,
      response: coverageSchema,
      handle: async ({ query }) => {
        const { days, lines } = await coverage.count(query.days, countWithinMs);
        return {
          stepMinutes,
          days: days.map(({ date, minutes }) => ({ date, minutes })),
          lines: lines.map(({ place, minutes, ...series }) => ({
            place: placeOf(place),
            quantity: series.quantity,
            sensor: nameOf(series),
            minutes,
          })),
          pending: lines.flatMap(({ minutes }) => minutes).filter((each) => each === null).length,
        };
      },
    }),
  ];
}
