/** A route is declared once, with its schemas; Express here and /api/openapi.json in open-api.ts are both made from that. */
import type { Express, Request, Response } from "express";
import { z } from "zod";
import { text } from "../../words/text.ts";
import type { Words } from "../../words/words.ts";
import { type Person, type Role, roles } from "../people/people.ts";
import { RecordFault } from "../records/record-fault.ts";
import type { By } from "../records/records.ts";
import { HttpProblem, inputProblem } from "./problem.ts";

export type Shape = z.ZodObject;
type Output<T> = T extends z.ZodType ? z.output<T> : undefined;

/** What a handler of a question gets, beside its input. */
export interface Asked {
  /** The words of whoever asks. */
  words: Words;
  /** Who asks; null when nobody is signed in. */
  asker: Person | null;
}

/** What a handler of an entry gets. */
interface Entered extends Asked {
  by: By;
}

/** What a download hands over. */
export interface Download {
  /** What it is called where it is kept, with its ending. */
  name: string;
  bytes: Buffer;
}

/** What a handler gets that writes its answer itself, a piece at a time. */
interface WritingOut extends Asked {
  response: Response;
}

/** What a handler gets that signs people in and out: it sets cookies. */
interface Visited extends Asked {
  request: Request;
  response: Response;
}

export interface Declared<
  P extends Shape | undefined,
  Q extends Shape | undefined,
  B extends z.ZodType | undefined,
  R extends z.ZodType,
  Given,
> {
  method: "get" | "post" | "patch";
  /** With OpenAPI's braces: /api/cars/{car} */
  path: string;
  summary: string;
  params?: P;
  query?: Q;
  body?: B;
  status?: 200 | 201;
  response: R;
  /** It looks at a PIN or makes one: after many wrong ones, and behind many others, one waits. */
  looksAtPin?: boolean;
  handle: (input: { params: Output<P>; query: Output<Q>; body: Output<B> } & Given) => z.input<R> | Promise<z.input<R>>;
}

export interface Route {
  method: "get" | "post" | "patch";
  path: string;
  summary: string;
  params?: Shape;
  query?: Shape;
  body?: z.ZodType;
  status: 200 | 201;
  response: z.ZodType;
  /** A question writes nothing: whoever may read may ask. An entry is recorded, by someone signed in. A visit is about signing in itself. */
  kind: "question" | "entry" | "visit";
  /** Who may make an entry. */
  roles: readonly Role[];
  /** Walls read it, also where reading needs signing in. */
  isForWalls: boolean;
  looksAtPin: boolean;
  /** Whether an entry with this key was taken already. */
  knows?: (key: string) => boolean;
  /** Of a question whose answer is a Download, or is written out by its handler. */
  mediaType?: string;
  isWrittenOut?: true;
  handle: (input: Record<string, unknown>) => unknown;
}

/** Declares a question, with the types of its schemas. */
export function route<
  R extends z.ZodType,
  P extends Shape | undefined = undefined,
  Q extends Shape | undefined = undefined,
  B extends z.ZodType | undefined = undefined,
>({ isForWalls = false, ...declared }: Declared<P, Q, B, R, Asked> & { isForWalls?: boolean }): Route {
  return { ...plain(declared), kind: "question", roles: [], isForWalls };
}

/** Declares a question whose answer is a file to keep. */
export function download<P extends Shape | undefined = undefined, Q extends Shape | undefined = undefined>({
  mediaType,
  ...declared
}: Omit<Declared<P, Q, undefined, z.ZodType<Download, Download>, Asked>, "method" | "response" | "status" | "body"> & {
  mediaType: string;
}): Route {
  const response = z.custom<Download>();
  const question = plain({ ...declared, method: "get", response });
  return { ...question, kind: "question", roles: [], isForWalls: false, mediaType };
}

/** Declares a question whose answer is a file of any length: its handler writes it. */
export function writtenOut<Q extends Shape | undefined = undefined>({
  mediaType,
  ...declared
}: Pick<
  Declared<undefined, Q, undefined, z.ZodType<void, void>, WritingOut>,
  "path" | "summary" | "query" | "handle"
> & {
  mediaType: string;
}): Route {
  const question = plain({ ...declared, method: "get", response: z.void() });
  return { ...question, kind: "question", roles: [], isForWalls: false, mediaType, isWrittenOut: true };
}

/** Declares an entry: by anyone signed in, unless `roles` names fewer; in the records' log, unless `knows` says where else. Answers 201 unless it says otherwise. */
export function entry<
  R extends z.ZodType,
  P extends Shape | undefined = undefined,
  B extends z.ZodType | undefined = undefined,
>({
  roles: allowed = roles,
  knows,
  ...declared
}: Declared<P, undefined, B, R, Entered> & { roles?: readonly Role[]; knows?: (key: string) => boolean }): Route {
  const entered = { ...plain({ status: 201, ...declared }), kind: "entry", roles: allowed, isForWalls: false } as const;
  return knows === undefined ? entered : { ...entered, knows };
}

/** Declares a visit: signing in, signing out, asking who is signed in. */
export function visit<R extends z.ZodType, B extends z.ZodType | undefined = undefined>(
  declared: Declared<undefined, undefined, B, R, Visited>,
): Route {
  return { ...plain(declared), kind: "visit", roles: [], isForWalls: false };
}

function plain<
  P extends Shape | undefined,
  Q extends Shape | undefined,
  B extends z.ZodType | undefined,
  R extends z.ZodType,
  Given,
>({ handle, params, query, body, status = 200, looksAtPin = false, ...rest }: Declared<P, Q, B, R, Given>) {
  return {
    ...rest,
    status,
    looksAtPin,
    ...(params === undefined ? {} : { params }),
    ...(query === undefined ? {} : { query }),
    ...(body === undefined ? {} : { body }),
    handle: (input: Record<string, unknown>) => handle(input as Parameters<typeof handle>[0]),
  };
}

/** Who asks, in which words, and what is known already. */
export interface Gate {
  wordsOf(request: Request): Words;
  /** Null when nobody is signed in. */
  personOf(request: Request): Person | null;
  /** Whether reading, too, is for those signed in. */
  readingIsClosed: boolean;
  /** Whether an entry with this key is in the records' log. */
  knows(key: string): boolean;
}

/** Of an entry that comes a second time, as when its first answer was lost: it is recorded once. */
export const knownSchema = z.object({ known: z.literal(true) });
const knownAlready: z.input<typeof knownSchema> = { known: true };
export const keySchema = z
  .string()
  .regex(/^[A-Za-z0-9_-]{16,64}$/, "expected 16 to 64 letters, digits, - or _")
  .optional();

/** Puts the routes into an Express app. */
export function mount(app: Express, routes: readonly Route[], gate: Gate): void {
  for (const each of routes) {
    app[each.method](each.path.replaceAll(/\{(\w+)\}/g, ":$1"), async (request, response) => {
      const words = gate.wordsOf(request);
      if (each.method !== "get") refuseForeign(request);
      if (each.kind === "question" && !each.isForWalls) refuseReading(request, gate);
      const by = each.kind === "entry" ? byOf(request, each, gate) : undefined;
      const isKnown = () => by?.key !== undefined && (each.knows ?? gate.knows)(by.key);
      if (isKnown()) {
        response.json(knownAlready);
        return;
      }
      const input = {
        params: parsed("path", each.params, request.params),
        query: parsed("query", each.query, request.query),
        body: parsed("body", each.body, request.body),
        words,
        asker: gate.personOf(request),
        by,
        request,
        response,
      };
      try {
        const answer = await each.handle(input);
        if (each.isWrittenOut) return;
        if (each.mediaType === undefined) response.status(each.status).json(answer);
        else sendFile(response, each.mediaType, answer as Download);
      } catch (error) {
        // The same entry, sent twice at once: one of them was recorded.
        if (error instanceof RecordFault && isKnown()) response.json(knownAlready);
        else throw error;
      }
    });
  }
}

function sendFile(response: Response, mediaType: string, { name, bytes }: Download): void {
  response.attachment(name).type(mediaType).send(bytes);
}

/** Throws a 401 where reading needs signing in and nobody is. */
export function refuseReading(request: Request, gate: Pick<Gate, "readingIsClosed" | "personOf">): void {
  if (gate.readingIsClosed && gate.personOf(request) === null) {
    throw new HttpProblem(401, text("sign-in.needed-to-read"));
  }
}

function byOf(request: Request, { roles: allowed }: Route, gate: Gate): By {
  const person = gate.personOf(request);
  if (person === null) throw new HttpProblem(401, text("sign-in.needed"));
  if (!allowed.includes(person.role)) {
    const named = allowed.map((role) => gate.wordsOf(request).t(`role.${role}`)).join(", ");
    throw new HttpProblem(403, text("sign-in.role", { roles: named, role: text(`role.${person.role}`) }));
  }
  const key = keySchema.safeParse(request.get("idempotency-key"));
  if (!key.success) throw inputProblem("header Idempotency-Key", request.get("idempotency-key"), key.error);
  return { who: person.name, role: person.role, ...(key.data === undefined ? {} : { key: key.data }) };
}

function parsed(part: string, schema: z.ZodType | undefined, input: unknown): unknown {
  if (schema === undefined) return undefined;
  const result = schema.safeParse(input);
  if (!result.success) throw inputProblem(part, input, result.error);
  return result.data;
}

/**
 * A page of another site must write nothing through a browser here. The session's cookie does not go with its requests
 * (SameSite=Strict); these are the second lock. A name that leads here but is not ours brings no cookie along either.
 */
function refuseForeign(request: Request): void {
  const origin = request.get("origin");
  if (origin !== undefined && origin !== ownOrigin(request)) {
    throw new HttpProblem(
      403,
      `Entries from pages of ${origin} are not taken: this is ${ownOrigin(request)}. Behind a proxy, see docs/people.md.`,
    );
  }
  const site = request.get("sec-fetch-site");
  if (site !== undefined && site !== "same-origin" && site !== "none") {
    throw new HttpProblem(403, "Entries from pages of other sites are not taken.");
  }
  if (request.is("application/json") === false) {
    throw new HttpProblem(415, "The body must be JSON with Content-Type: application/json.");
  }
}

/** As the browser knows it; through a proxy on this machine, as that says. */
function ownOrigin(request: Request): string {
  return `${request.protocol}://${request.host}`;
}
