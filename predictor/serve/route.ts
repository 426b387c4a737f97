/** A route is declared once, with its schemas; Express and /api/openapi.json are both made from that. */
import type { Express, Request, Response } from "express";
import { z } from "zod";
import { text } from "../../words/text.ts";
import { languages, type Words } from "../../words/words.ts";
import { type Person, type Role, roles } from "../people/people.ts";
import { RecordFault } from "../records/record-fault.ts";
import type { By } from "../records/records.ts";
import { problemSchema } from "./api.ts";
import { HttpProblem, inputProblem } from "./problem.ts";
import { sessionCookie } from "./session-cookies.ts";

const jsonMedia = "application/json";

type Shape = z.ZodObject;
type Output<T> = T extends z.ZodType ? z.output<T> : undefined;

/** What a handler of a question gets, beside its input. */
interface Asked {
  /** The words of whoever asks. */
  words: Words;
}

/** What a handler of an entry gets. */
interface Entered extends Asked {
  by: By;
}

/** What a handler gets that signs people in and out: it sets cookies. */
interface Visited extends Asked {
  request: Request;
  response: Response;
}

interface Declared<
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
  /** Of an answer that is a text of another kind, such as text/csv. */
  media?: string;
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
  /** Of its answer; application/json unless it is a text of another kind. */
  media: string;
  /** A question writes nothing: whoever may read may ask. An entry is recorded, by someone signed in. A visit is about signing in itself. */
  kind: "question" | "entry" | "visit";
  /** Who may make an entry. */
  roles: readonly Role[];
  /** Walls read it, also where reading needs signing in. */
  isForWalls: boolean;
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

/** Declares an entry: by anyone signed in, unless `roles` names fewer. Answers 201 unless it says otherwise. */
export function entry<
  R extends z.ZodType,
  P extends Shape | undefined = undefined,
  B extends z.ZodType | undefined = undefined,
>({ roles: allowed = roles, ...declared }: Declared<P, undefined, B, R, Entered> & { roles?: readonly Role[] }): Route {
  return { ...plain({ status: 201, ...declared }), kind: "entry", roles: allowed, isForWalls: false };
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
>({ handle, params, query, body, status = 200, media = jsonMedia, ...rest }: Declared<P, Q, B, R, Given>) {
  return {
    ...rest,
    status,
    media,
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
  /** Whether an entry with this key was taken already. */
  knows(key: string): boolean;
}

/** Of an entry that comes a second time, as when its first answer was lost: it is recorded once. */
const knownAlready = { known: true };
const keySchema = z
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
      if (by?.key !== undefined && gate.knows(by.key)) {
        response.json(knownAlready);
        return;
      }
      const input = {
        params: parsed("path", each.params, request.params),
        query: parsed("query", each.query, request.query),
        body: parsed("body", each.body, request.body),
        words,
        by,
        request,
        response,
      };
      try {
        const answer = await each.handle(input);
        response.status(each.status);
        if (each.media === jsonMedia) response.json(answer);
        else response.type(each.media).send(answer);
      } catch (error) {
        // The same entry, sent twice at once: one of them was recorded.
        if (error instanceof RecordFault && by?.key !== undefined && gate.knows(by.key)) response.json(knownAlready);
        else throw error;
      }
    });
  }
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
  if (origin !== undefined && origin !== `${request.protocol}://${request.get("host")}`) {
    throw new HttpProblem(403, `Entries from pages of ${origin} are not taken.`);
  }
  const site = request.get("sec-fetch-site");
  if (site !== undefined && site !== "same-origin" && site !== "none") {
    throw new HttpProblem(403, "Entries from pages of other sites are not taken.");
  }
  if (request.is("application/json") === false) {
    throw new HttpProblem(415, "The body must be JSON with Content-Type: application/json.");
  }
}

/** The OpenAPI 3.1 description of the routes. */
export function openApi(routes: readonly Route[], version: string): object {
  const paths: Record<string, Record<string, object>> = {};
  for (const each of routes) {
    paths[each.path] = { ...paths[each.path], [each.method]: operation(each) };
  }
  return {
    openapi: "3.1.0",
    info: {
      title: "Coatclock",
      version,
      description:
        "When each coat is ready. 'Ready' is about the paint film; it never means that isocyanate is absent. Instants are ISO 8601, temperatures °C.",
      license: { name: "MIT", identifier: "MIT" },
    },
    paths,
    components: {
      schemas: { Problem: jsonSchema(problemSchema, "output") },
      securitySchemes: {
        session: { type: "apiKey", in: "cookie", name: sessionCookie, description: "From POST /api/sign-in" },
      },
    },
  };
}

const keyParameter = {
  name: "Idempotency-Key",
  in: "header",
  required: false,
  description: "Of the entry: sent again with the same key it is recorded once, and answered with { known: true }",
  schema: jsonSchema(keySchema, "input"),
};

function operation(each: Route): object {
  const problem = {
    description: "Problem details (RFC 9457)",
    content: { "application/problem+json": { schema: { $ref: "#/components/schemas/Problem" } } },
  };
  const isEntry = each.kind === "entry";
  const parameters = [
    ...parametersOf(each.params, "path"),
    ...parametersOf(each.query, "query"),
    { name: "language", in: "query", required: false, schema: { type: "string", enum: languages } },
    ...(isEntry ? [keyParameter] : []),
  ];
  return {
    summary: isEntry && each.roles.length < roles.length ? `${each.summary} (${each.roles.join(", ")})` : each.summary,
    ...(isEntry ? { security: [{ session: [] }] } : {}),
    parameters,
    ...(each.body === undefined
      ? {}
      : {
          requestBody: { required: true, content: { "application/json": { schema: jsonSchema(each.body, "input") } } },
        }),
    responses: {
      [each.status]: {
        description: each.summary,
        content: { [each.media]: { schema: jsonSchema(each.response, "output") } },
      },
      default: problem,
    },
  };
}

function parametersOf(shape: Shape | undefined, where: "path" | "query"): object[] {
  return Object.entries(shape?.shape ?? {}).map(([name, schema]) => ({
    name,
    in: where,
    required: where === "path" || !z.safeParse(schema as z.ZodType, undefined).success,
    schema: jsonSchema(schema as z.ZodType, "input"),
  }));
}

function jsonSchema(schema: z.ZodType, io: "input" | "output"): object {
  const { $schema: _, ...rest } = z.toJSONSchema(schema, { io, unrepresentable: "any" });
  return rest;
}
