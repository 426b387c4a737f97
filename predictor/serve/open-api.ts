/** /api/openapi.json, made from the routes as they are declared. */
import { z } from "zod";
import { languages } from "../../words/words.ts";
import { roles } from "../people/people.ts";
import { problemSchema } from "./api.ts";
import { keySchema, type Route, type Shape } from "./route.ts";
import { sessionCookie } from "./session-cookies.ts";

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
        content: { [each.mediaType ?? "application/json"]: { schema: answerSchema(each) } },
      },
      default: problem,
    },
  };
}

function answerSchema({ mediaType, response }: Route): object {
  const isBytes = mediaType !== undefined && mediaType !== "application/json";
  return isBytes ? { type: "string", format: "binary" } : jsonSchema(response, "output");
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
