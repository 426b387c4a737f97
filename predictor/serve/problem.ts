/** Errors as RFC 9457 problem details: what is the matter, with which field, and what would be right. */
import type { ErrorRequestHandler, Request, RequestHandler, Response } from "express";
import type { Logger } from "pino";
import type { z } from "zod";
import { type Text, text } from "../../words/text.ts";
import type { Words } from "../../words/words.ts";
import { faultLines } from "../faults.ts";
import { SignInFault } from "../people/people.ts";
import { PinBusy } from "../people/pin.ts";
import { StoreAway } from "../readings/store.ts";
import { RecordFault } from "../records/record-fault.ts";
import type { Problem } from "./api.ts";

const titles: Record<number, string> = {
  400: "Bad request",
  401: "Unauthorized",
  403: "Forbidden",
  404: "Not found",
  405: "Method not allowed",
  409: "Conflict",
  413: "Content too large",
  415: "Unsupported media type",
  429: "Too many requests",
  500: "Internal error",
  503: "Service unavailable",
  507: "Insufficient storage",
};

/** An error with an HTTP status, thrown by a handler and answered as a problem: what a person meets as a Text, else in English. */
export class HttpProblem extends Error {
  readonly status: number;
  readonly detail: string | Text;
  readonly faults: Problem["faults"];

  constructor(status: number, detail: string | Text, faults?: Problem["faults"]) {
    super(typeof detail === "string" ? detail : detail.key);
    this.name = "HttpProblem";
    this.status = status;
    this.detail = detail;
    this.faults = faults;
  }
}

/** The faults of an input that does not fit its schema; `part` says where it stood: body, query or path. */
export function inputProblem(part: string, input: unknown, error: z.ZodError): HttpProblem {
  const faults = faultLines(error, input).map((fault) => ({
    ...fault,
    path: [part, fault.path].filter(Boolean).join("."),
  }));
  const lines = faults.map(({ path, expected, found }) => `${path}: expected ${expected}, found ${found}`);
  return new HttpProblem(400, `The ${part} does not fit: ${lines.join("; ")}`, faults);
}

export function sendProblem(response: Response, status: number, detail: string, faults?: Problem["faults"]): void {
  const problem: Problem = {
    type: "about:blank",
    title: titles[status] ?? "Error",
    status,
    detail,
    ...(faults === undefined ? {} : { faults }),
  };
  response.status(status).type("application/problem+json").send(JSON.stringify(problem));
}

export const notFound: RequestHandler = (request, response) => {
  sendProblem(
    response,
    404,
    `There is nothing at ${request.method} ${request.path}. /api/openapi.json lists what there is.`,
  );
};

/** Answers whatever a handler threw; an error of our own making is logged whole and told without its inside. */
export function problemHandler(logger: Logger, wordsOf: (request: Request) => Words): ErrorRequestHandler {
  return (error: unknown, request, response, next) => {
    if (response.headersSent) {
      next(error);
      return;
    }
    const said = (detail: string | Text) => (typeof detail === "string" ? detail : wordsOf(request).say(detail));
    if (error instanceof HttpProblem) {
      sendProblem(response, error.status, said(error.detail), error.faults);
    } else if (error instanceof RecordFault) {
      sendProblem(response, error.kind === "not-found" ? 404 : 409, said(error.text));
    } else if (error instanceof SignInFault) {
      const { untilMs } = error;
      if (untilMs !== null) response.set("Retry-After", String(Math.max(1, Math.ceil((untilMs - Date.now()) / 1000))));
      sendProblem(response, untilMs === null ? 401 : 429, said(error.text));
    } else if (error instanceof PinBusy) {
      sendProblem(response.set("Retry-After", "5"), 429, said(text("sign-in.busy")));
    } else if (error instanceof StoreAway) {
      sendProblem(response.set("Retry-After", "10"), 503, said(text("fault.away", { fault: error.message })));
    } else if (isClientError(error)) {
      sendProblem(response, error.status, error.message);
    } else if (isDiskError(error)) {
      logger.error({ err: error, path: request.path }, "an entry could not be written");
      sendProblem(response, 507, said(text("fault.disk", { error: error.message })));
    } else {
      logger.error({ err: error, method: request.method, path: request.path }, "a request failed");
      sendProblem(response, 500, said(text("fault.internal")));
    }
  };
}

/** What express and its body parser throw for requests that are not well formed. */
function isClientError(error: unknown): error is Error & { status: number } {
  return (
    error instanceof Error &&
    "status" in error &&
    typeof error.status === "number" &&
    error.status >= 400 &&
    error.status < 500
  );
}

/** What SQLite says of a disk that is full, worn out or read-only. */
function isDiskError(error: unknown): error is Error {
  const code = error instanceof Error && "code" in error ? String(error.code) : "";
  return /^SQLITE_(FULL|IOERR|READONLY|CANTOPEN)/.test(code);
}
