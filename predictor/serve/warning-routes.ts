/** The routes about warnings: what holds, what was done about it, and what is left for later. */
import type { Warnings } from "../warnings/warnings.ts";
import { warningsSchema } from "./api.ts";
import { answerSchema, setAsideSchema } from "./entries.ts";
import { entry, type Route, route } from "./route.ts";
import { endedView, warningView } from "./warning-views.ts";

export interface WarningRouteParts {
  warnings: Pick<Warnings, "all" | "ended" | "answer" | "setAside">;
}

export function warningRoutes({ warnings }: WarningRouteParts): Route[] {
  return [
    route({
      method: "get",
      path: "/api/warnings",
      summary: "Every warning that holds, open ones first, and those that ended in the last day",
      response: warningsSchema,
      handle: ({ words }) => ({
        warnings: warnings.all().map((warning) => warningView(warning, words)),
        ended: warnings.ended().map((warning) => endedView(warning, words)),
      }),
    }),
    entry({
      method: "post",
      path: "/api/warnings/answers",
      summary: "Records what was done about a warning; it is not said again for the same fact",
      body: answerSchema,
      response: warningsSchema.pick({ warnings: true }),
      handle: ({ body, words, by }) => {
        warnings.answer(body.warning, body.done, by);
        return { warnings: warnings.all().map((warning) => warningView(warning, words)) };
      },
    }),
    entry({
      method: "post",
      path: "/api/warnings/set-aside",
      summary: "Sets a warning aside for some minutes, with the reason; then it is said anew, if it still holds",
      body: setAsideSchema,
      response: warningsSchema.pick({ warnings: true }),
      handle: ({ body, words, by }) => {
        warnings.setAside(body.warning, body.minutes, body.reason, by);
        return { warnings: warnings.all().map((warning) => warningView(warning, words)) };
      },
    }),
  ];
}
