/** The routes that learn from people and answer their questions: checks, mixes, what if, start by. */
import { z } from "zod";
import { text } from "../../words/text.ts";
import type { Sheet, StageName } from "../cure/sheet.ts";
import { stageNameSchema } from "../cure/sheet.ts";
import type { CoatState } from "../follow/coat-state.ts";
import type { Follow } from "../follow/follow.ts";
import type { Pots } from "../follow/pots.ts";
import type { StartBys } from "../follow/start-bys.ts";
import { type AskedStep, askWhatIf } from "../follow/what-ifs.ts";
import type { Records, Told } from "../records/records.ts";
import type { ShopFile } from "../shop-file.ts";
import { lessonView, potView, startByViews } from "./ahead-views.ts";
import { coatViewSchema, potSchema, startBySchema } from "./api.ts";
import {
  lessonsSchema,
  newCheckSchema,
  newMixSchema,
  type WhatIfView,
  whatIfQuestionSchema,
  whatIfSchema,
  withdrawalSchema,
} from "./entries.ts";
import { HttpProblem } from "./problem.ts";
import { entry, type Route, route } from "./route.ts";
import type { Views } from "./views.ts";
import { whatIfView } from "./what-if-view.ts";

export interface CureRouteParts {
  shopFile: ShopFile;
  records: Records;
  follow: Follow;
  views: Views;
  pots: Pots;
  startBys: StartBys;
  now: () => number;
  /** Throw for what there is not. */
  placeOf: (id: string) => unknown;
  sheetOf: (id: string) => Sheet;
  pastInstant: (given: string | undefined) => number;
}

/** What is told now counts as what was told at a check so long ago. */
const toldForMs = 2 * 60_000;
const aheadAtMostMs = 7 * 24 * 60 * 60_000;

function toldOf({ outcome }: CoatState, stage: StageName): Told | null {
  const found = outcome.stages.find((each) => each.stage === stage);
  if (found === undefined || found.likelyAtMs === null) return null;
  return { likelyAtMs: found.likelyAtMs, safeAtMs: found.safeAtMs };
}

export function cureRoutes(parts: CureRouteParts): Route[] {
  const { shopFile, records, follow, views, startBys, now, placeOf, sheetOf, pastInstant } = parts;
  const potViews = () => parts.pots.open().map((pot) => potView(pot, shopFile));
  const pots = z.object({ pots: z.array(potSchema) });

  return [
    entry({
      method: "post",
      path: "/api/coats/{coat}/checks",
      summary: "Records that someone tried whether a stage was reached: ready or not yet. The model learns from it",
      params: z.object({ coat: z.string() }),
      body: newCheckSchema,
      response: coatViewSchema,
      handle: async ({ params, body, words, by }) => {
        const { stage, ready, how, note } = body;
        const atMs = pastInstant(body.at);
        // What was entered late was tried by what was told then, and that is not known any more.
        const told = now() - atMs > toldForMs ? null : toldOf(await follow.coat(params.coat), stage);
        records.addCheck({ coatId: params.coat, stage, atMs, ready, how, note, told }, by);
        return views.coat(await follow.coat(params.coat), words);
      },
    }),
    entry({
      method: "post",
      path: "/api/checks/{check}/withdrawal",
      summary: "Withdraws a check, as after a mistap: it is kept with the reason, and counts no more",
      params: z.object({ check: z.string() }),
      body: withdrawalSchema,
      response: coatViewSchema,
      handle: async ({ params, body, words, by }) => {
        const { coatId } = records.withdrawCheck(params.check, body.reason, by);
        return views.coat(await follow.coat(coatId), words);
      },
    }),
    route({
      method: "get",
      path: "/api/lessons",
      summary: "What the shop's checks say of each sheet's newest revision",
      response: lessonsSchema,
      handle: async () => {
        const lessons = [];
        for (const sheet of records.sheets()) {
          const { id, revision, name } = sheet;
          lessons.push({ sheet: id, revision, name, ...lessonView(await follow.lesson(sheet)) });
        }
        return { lessons };
      },
    }),
    route({
      method: "get",
      path: "/api/mixes",
      summary: "The pots that stand mixed, with what is left of their life",
      response: pots,
      handle: () => ({ pots: potViews() }),
    }),
    entry({
      method: "post",
      path: "/api/mixes",
      summary: "Records that paint was mixed: its pot life starts",
      body: newMixSchema,
      response: pots,
      handle: ({ body, by }) => {
        const place = body.place ?? shopFile.mixingPlace;
        if (place === undefined) throw new HttpProblem(409, text("entry.no-mixing-place"));
        placeOf(place);
        const mixedAtMs = pastInstant(body.at);
        const { litres = null, batches = [] } = body;
        records.addMix({ sheetId: sheetOf(body.sheet).id, place, mixedAtMs, litres, batches }, by);
        return { pots: potViews() };
      },
    }),
    entry({
      method: "post",
      path: "/api/mixes/{mix}/emptied",
      summary: "Records that a pot is empty or thrown away",
      params: z.object({ mix: z.string() }),
      body: z.strictObject({ at: z.iso.datetime({ offset: true }).optional() }),
      response: pots,
      handle: ({ params, body, by }) => {
        records.emptyMix(params.mix, pastInstant(body.at), by);
        return { pots: potViews() };
      },
    }),
    route({
      method: "post",
      path: "/api/what-if",
      summary: "What would become of a car's coats under a plan, and what it would take in energy. Nothing is recorded",
      body: whatIfQuestionSchema,
      response: whatIfSchema,
      handle: async ({ body, words }): Promise<WhatIfView> => {
        const car = records.car(body.car);
        const states = follow.coatsOf(car.id).filter(({ coat }) => body.coat === undefined || coat.id === body.coat);
        if (states.length === 0) {
          throw new HttpProblem(
            409,
            body.coat === undefined
              ? text("what-if.no-coat", { car: car.name })
              : text("what-if.not-this-coat", { car: car.name, coat: body.coat }),
          );
        }
        const steps = body.steps.map(({ at, ...step }): AskedStep => ({ ...step, atMs: Date.parse(at) }));
        const untilMs = body.until === undefined ? undefined : Date.parse(body.until);
        if (untilMs !== undefined && !(untilMs <= now() + aheadAtMostMs)) {
          throw new HttpProblem(400, text("what-if.until", { found: { dateMs: untilMs } }));
        }
        const answer = await askWhatIf(parts, states, steps, untilMs);
        if ("faults" in answer) {
          const faults = answer.faults.map((fault) => ({ ...fault, expected: words.say(fault.expected) }));
          throw new HttpProblem(400, text("what-if.does-not-fit"), faults);
        }
        return whatIfView(answer, shopFile.energy, words);
      },
    }),
    route({
      method: "get",
      path: "/api/start-by",
      summary: "By when a coat must be finished in each place, for a stage to be reached by an instant",
      query: z.object({ sheet: z.string(), stage: stageNameSchema, by: z.iso.datetime({ offset: true }) }),
      response: z.object({ answers: z.array(startBySchema) }),
      handle: async ({ query }) => {
        const sheet = sheetOf(query.sheet);
        const stages = sheet.stages.map(({ stage }) => stage);
        if (!stages.includes(query.stage)) {
          throw new HttpProblem(400, `Sheet ${sheet.id} has no stage "${query.stage}"; it has ${stages.join(", ")}.`);
        }
        const byMs = Date.parse(query.by);
        if (!(byMs > now() && byMs <= now() + aheadAtMostMs)) {
          throw new HttpProblem(400, `"by" must lie ahead, within a week; found ${query.by}.`);
        }
        return { answers: startByViews(await startBys.ask(sheet, query.stage, byMs), shopFile) };
      },
    }),
  ];
}
