/** What /api/openapi.json says of the routes: OpenAPI 3.1. */
import { z } from "zod";
import { languages } from "../../words/words.ts";
import { roles } from "../people/people.ts";
import { problemSchema } from "./api.ts";
import { keySchema, knownSchema, type Route, type Shape } from "./route.ts";
import { sessionCookie } from "./session-cookies.ts";

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
    responses: { ...answers(each), ...refusals(each) },
  };
}

function answers({ kind, status, summary, response, mediaType }: Route): object {
  if (mediaType !== undefined) return { [status]: { description: summary, content: { [mediaType]: {} } } };
  const answer = (description: string, schema: z.ZodType) => ({
    description,
    content: { "application/json": { schema: jsonSchema(schema, "output") } },
  });
  if (kind !== "entry") return { [status]: answer(summary, response) };
  if (status === 200) return { 200: answer(summary, z.union([response, knownSchema])) };
  return { [status]: answer(summary, response), 200: answer("It was recorded before, with the same key", knownSchema) };
}

function refusals({ kind, method, isForWalls, looksAtPin }: Route): object {
  const refusal = (description: string) => ({
    description,
    content: { "application/problem+json": { schema: { $ref: "#/components/schemas/Problem" } } },
  });
  const needsPerson = kind === "entry" || (kind === "question" && !isForWalls);
  return {
    ...(needsPerson || looksAtPin ? { 401: refusal("Nobody is signed in, or name or PIN is not right") } : {}),
    ...(method === "get" ? {} : { 403: refusal("For another role, or from a page of another site") }),
    ...(looksAtPin ? { 429: refusal("Too many tries; Retry-After tells in how many seconds again") } : {}),
    default: refusal("Problem details (RFC 9457)"),
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
