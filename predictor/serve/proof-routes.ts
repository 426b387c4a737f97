/** The routes of the log: what came of coats, and what the quality lead says of them. */
import { z } from "zod";
import type { BookKeeper } from "../proof/book-keeper.ts";
import type { CoatBook } from "../proof/coat-book.ts";
import { notYetReleasable } from "../proof/release.ts";
import { signOffSchema } from "./entries.ts";
import { sendLogCsv } from "./log-csv.ts";
import { HttpProblem } from "./problem.ts";
import {
  coatFileSchema,
  deviationAnswerSchema,
  holdSchema,
  logPageQuerySchema,
  logQuerySchema,
  logSchema,
} from "./proof-api.ts";
import { bookQuery, coatFile, logRow, type ProofViewParts } from "./proof-views.ts";
import { entry, type Route, route, writtenOut } from "./route.ts";

export interface ProofRouteParts extends ProofViewParts {
  book: CoatBook;
  bookKeeper: BookKeeper;
}

const ofCoat = z.object({ coat: z.string() });

export function proofRoutes(parts: ProofRouteParts): Route[] {
  const { book, bookKeeper, follow, records, shopFile, now } = parts;
  const quality = { roles: ["quality"], params: ofCoat, response: coatFileSchema } as const;
  return [
    route({
      method: "get",
      path: "/api/log",
      summary: "The coats that fit, with what came of them, a page at a time; /api/log.csv gives them all",
      query: logPageQuerySchema,
      response: logSchema,
      handle: ({ query: { page, size, ...query } }) => {
        const nowMs = now();
        const { total, rows } = book.page(bookQuery(query), nowMs, { from: (page - 1) * size, size });
        return {
          rows: rows.map((row) => logRow(row, shopFile, nowMs)),
          total,
          page,
          pages: Math.max(1, Math.ceil(total / size)),
          pending: bookKeeper.pending,
          choices: book.choices(),
        };
      },
    }),
    writtenOut({
      path: "/api/log.csv",
      summary: "All the coats that fit, with what came of them",
      query: logQuerySchema,
      mediaType: "text/csv",
      handle: ({ query, response }) => {
        const placeName = ({ place }: { place: string }) => shopFile.places[place]?.name ?? place;
        return sendLogCsv({ book, of: shopFile.shop, placeName, nowMs: now() }, bookQuery(query), response);
      },
    }),
    route({
      method: "get",
      path: "/api/coats/{coat}/file",
      summary:
        "All that is known of one coat: figures, deviations and answers, entries, warnings, certificates, release",
      params: ofCoat,
      response: coatFileSchema,
      handle: ({ params, words }) => coatFile(params.coat, parts, words),
    }),
    entry({
      ...quality,
      method: "post",
      path: "/api/coats/{coat}/sign-offs",
      summary: "Releases a coat: vouches for it, and says what the signature means",
      body: signOffSchema,
      handle: async ({ params, body, words, by }) => {
        const coat = records.coat(params.coat);
        const notYet = notYetReleasable({
          coat,
          figures: await bookKeeper.figuresOf(await follow.coat(coat.id)),
          checks: records.checksOf(coat.id).filter(({ withdrawn }) => withdrawn === null),
          answers: records.deviationAnswers(coat.id),
          nowMs: now(),
        });
        if (notYet !== null) throw new HttpProblem(409, notYet);
        records.signOff(coat.id, body.meaning, by);
        return coatFile(coat.id, parts, words);
      },
    }),
    entry({
      ...quality,
      method: "post",
      path: "/api/coats/{coat}/hold",
      summary: "Holds a coat, released or not, with the reason",
      body: holdSchema,
      handle: ({ params, body, words, by }) => {
        records.hold(params.coat, body.reason, by);
        return coatFile(params.coat, parts, words);
      },
    }),
    entry({
      ...quality,
      method: "post",
      path: "/api/coats/{coat}/reopening",
      summary: "Takes a release or a hold back, with the reason",
      body: holdSchema,
      handle: ({ params, body, words, by }) => {
        records.reopen(params.coat, body.reason, by);
        return coatFile(params.coat, parts, words);
      },
    }),
    entry({
      ...quality,
      method: "post",
      path: "/api/coats/{coat}/deviation-answers",
      summary: "Says why a deviation is acceptable, or what was done about it",
      body: deviationAnswerSchema,
      handle: ({ params, body, words, by }) => {
        records.answerDeviation(params.coat, body.deviation, body.answer, by);
        return coatFile(params.coat, parts, words);
      },
    }),
  ];
}
