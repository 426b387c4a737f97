/** A route is declared once, with its schemas; Express and /api/openapi.json are both made from that. */
import type { Express, Request } from "express";
import { z } from "zod";
import { problemSchema } from "./api.ts";
import { HttpProblem, inputProblem } from "./problem.ts";

type Shape = z.ZodObject;
type Output<T> = T extends z.ZodType ? z.output<T> : undefined;

export interface Route {
  method: "get" | "post" | "patch";
  /** With OpenAPI's braces: /api/cars/{car} */
  path: string;
  summary: string;
  params?: Shape;
  query?: Shape;
  body?: z.ZodType;
  status: 200 | 201;
  /** A POST that only asks and writes nothing: anyone who may read may ask. */
  isQuestion: boolean;
  response: z.ZodType;
  handle: (input: { params: unknown; query: unknown; body: unknown }) => unknown;
}

interface TypedRoute<
  P extends Shape | undefined,
  Q extends Shape | undefined,
  B extends z.ZodType | undefined,
  R extends z.ZodType,
> {
  method: Route["method"];
  path: string;
  summary: string;
  params?: P;
  query?: Q;
  body?: B;
  status?: Route["status"];
  isQuestion?: boolean;
  response: R;
  handle: (input: { params: Output<P>; query: Output<Q>; body: Output<B> }) => z.input<R> | Promise<z.input<R>>;
}

/** Declares a route with the types of its schemas. */
export function route<
  R extends z.ZodType,
  P extends Shape | undefined = undefined,
  Q extends Shape | undefined = undefined,
  B extends z.ZodType | undefined = undefined,
>(declared: TypedRoute<P, Q, B, R>): Route {
  const { handle, params, query, body, status, isQuestion, ...rest } = declared;
  return {
    ...rest,
    status: status ?? 200,
    isQuestion: isQuestion ?? false,
    ...(params === undefined ? {} : { params }),
    ...(query === undefined ? {} : { query }),
    ...(body === undefined ? {} : { body }),
    handle: (input) => handle(input as Parameters<typeof handle>[0]),
  };
}

/** Puts the routes into an Express app. */
export function mount(app: Express, routes: readonly Route[]): void {
  for (const each of routes) {
    app[each.method](each.path.replaceAll(/\{(\w+)\}/g, ":$1"), async (request, response) => {
      if (each.method !== "get" && !each.isQuestion) refuseForeignWrite(request);
      const input = {
        params: parsed("path", each.params, request.params),
        query: parsed("query", each.query, request.query),
        body: parsed("body", each.body, request.body),
      };
      response.status(each.status).json(await each.handle(input));
    });
  }
}

function parsed(part: string, schema: z.ZodType | undefined, input: unknown): unknown {
  if (schema === undefined) return undefined;
  const result = schema.safeParse(input);
  if (!result.success) throw inputProblem(part, input, result.error);
  return result.data;
}

const loopback = new Set(["127.0.0.1", "::1", "::ffff:127.0.0.1"]);
const ownNames = new Set(["localhost", "127.0.0.1", "[::1]"]);

/** Until people sign in, only this machine may write, and no page of another site may do so through a browser here. */
function refuseForeignWrite(request: Request): void {
  if (!loopback.has(request.socket.remoteAddress ?? "")) {
    throw new HttpProblem(
      403,
      "Entries are taken from this machine only, until signing in is possible. Reading is open.",
    );
  }
  // A page of another site can have its own name lead to this machine: then the Host is that name.
  if (!ownNames.has(request.hostname)) {
    throw new HttpProblem(403, `Entries are taken at http://localhost, not at ${request.hostname}.`);
  }
  const origin = request.get("origin");
  if (origin !== undefined && origin !== `${request.protocol}://${request.get("host")}`) {
    throw new HttpProblem(403, `Entries from pages of ${origin} are not taken.`);
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
    components: { schemas: { Problem: jsonSchema(problemSchema, "output") } },
  };
}

function operation(each: Route): object {
  const problem = {
    description: "Problem details (RFC 9457)",
    content: { "application/problem+json": { schema: { $ref: "#/components/schemas/Problem" } } },
  };
  const parameters = [...parametersOf(each.params, "path"), ...parametersOf(each.query, "query")];
  return {
    summary: each.summary,
    ...(parameters.length === 0 ? {} : { parameters }),
    ...(each.body === undefined
      ? {}
      : {
          requestBody: { required: true, content: { "application/json": { schema: jsonSchema(each.body, "input") } } },
        }),
    responses: {
      [each.status]: {
        description: each.summary,
        content: { "application/json": { schema: jsonSchema(each.response, "output") } },
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
