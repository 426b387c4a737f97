/** The routes for the work at hand: may it be sprayed, and how much to mix. Nothing is recorded here. */
import { z } from "zod";
import type { Sheet } from "../cure/sheet.ts";
import type { SprayChecks } from "../follow/spray-checks.ts";
import { mixQuantity } from "../mixing/mix-quantity.ts";
import { knownPanels } from "../mixing/panels.ts";
import type { ShopFile } from "../shop-file.ts";
import { mixQuestionSchema } from "./entries.ts";
import { HttpProblem } from "./problem.ts";
import { type Route, route } from "./route.ts";
import type { Views } from "./views.ts";
import { knownPanelsSchema, mixQuantitySchema, sprayOutlookSchema } from "./work-api.ts";
import { mixQuantityView, sprayOutlookView } from "./work-views.ts";

export interface WorkRouteParts {
  shopFile: Pick<ShopFile, "site">;
  /** Throws for one that there is not. */
  sheetOf: (id: string) => Sheet;
  sprayChecks: Pick<SprayChecks, "outlook">;
  views: Pick<Views, "shop" | "place">;
}

export function workRoutes({ shopFile, sheetOf, sprayChecks, views }: WorkRouteParts): Route[] {
  return [
    route({
      method: "get",
      path: "/api/spray-check",
      summary: "Each limit of a sheet in a place: value, margin and source, now and in the hours ahead",
      query: z.object({ place: z.string(), sheet: z.string() }),
      response: sprayOutlookSchema,
      handle: ({ query, words }) => {
        const sheet = sheetOf(query.sheet);
        const place = views.place(query.place);
        const outlook = place === null ? null : sprayChecks.outlook(place.id, sheet.id);
        if (place === null || outlook === null) throw new HttpProblem(404, `No place "${query.place}".`);
        const clearanceMinutes = shopFile.site.clearanceMinutes ?? null;
        const of = { shop: views.shop, place, clearanceMinutes, sheetCautions: sheet.cautions };
        return sprayOutlookView(outlook, of, words);
      },
    }),
    route({
      method: "get",
      path: "/api/panels",
      summary: "The panels that the outline of a car shows, with their usual make and area (assumed)",
      response: knownPanelsSchema,
      handle: () => ({ panels: [...knownPanels] }),
    }),
    route({
      method: "post",
      path: "/api/mix-quantity",
      summary:
        "How much to mix for panels or an area: litres of each component, the pot, or wipes. Nothing is recorded",
      body: mixQuestionSchema,
      response: mixQuantitySchema,
      handle: ({ body, words }) => {
        const answer = mixQuantity({ ...body, sheet: sheetOf(body.sheet) }, shopFile.site);
        if ("refusal" in answer) throw new HttpProblem(409, answer.refusal);
        return mixQuantityView(answer, words);
      },
    }),
  ];
}
