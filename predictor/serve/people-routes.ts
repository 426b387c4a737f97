/** The routes about people: signing in and out, setting up, and who may do what. */
import type { Request } from "express";
import { z } from "zod";
import type { People, SignedIn, Whence } from "../people/people.ts";
import { newPersonSchema, ownPinSchema, personChangeSchema, setUpSchema, signInSchema } from "./entries.ts";
import { type Me, meSchema, type People as PeopleView, peopleSchema } from "./people-api.ts";
import { entry, type Route, route, visit } from "./route.ts";
import { clearSession, deviceOf, sessionOf, setSession } from "./session-cookies.ts";

export interface PeopleRouteParts {
  people: People;
  /** Names are told to anyone on the shop's network, so that signing in is a tap and a PIN. */
  readingIsClosed: boolean;
}

const nothing = z.strictObject({});

function whenceOf(request: Request): Whence {
  return { device: deviceOf(request), address: request.ip ?? "" };
}

export function peopleRoutes({ people, readingIsClosed }: PeopleRouteParts): Route[] {
  const me = (session: string | null): Me => {
    const person = session === null ? null : people.signedIn(session);
    const names = people.list().flatMap(({ name, isActive }) => (isActive ? [name] : []));
    return {
      person: person && { name: person.name, role: person.role },
      isSetUp: people.isSetUp(),
      people: readingIsClosed && person === null ? [] : names,
      rehearsalPin: people.rehearsalPin,
    };
  };
  const list = (): PeopleView => ({
    people: people.list().map((person) => {
      const untilMs = people.lockedUntilMs(person.name);
      return { ...person, lockedUntil: untilMs === null ? null : new Date(untilMs).toISOString() };
    }),
  });
  const activeOnes = (): PeopleView => ({
    people: people.list().flatMap((person) => (person.isActive ? [{ ...person, lockedUntil: null }] : [])),
  });
  // The log may hold one that was not made: its change could not be written.
  const knows = (key: string) => people.knows(key);
  const welcome = (signedIn: SignedIn): Me => me(signedIn.session);

  return [
    visit({
      method: "get",
      path: "/api/me",
      summary: "Who is signed in on this device, and the names to sign in with",
      response: meSchema,
      handle: ({ request }) => me(sessionOf(request)),
    }),
    visit({
      method: "post",
      path: "/api/sign-in",
      summary: "Signs in with name and PIN; sets the session's cookie",
      looksAtPin: true,
      body: signInSchema,
      response: meSchema,
      handle: async ({ body, request, response }) => {
        const signedIn = await people.signIn(body.name, body.pin, whenceOf(request));
        setSession(request, response, signedIn);
        return welcome(signedIn);
      },
    }),
    visit({
      method: "post",
      path: "/api/sign-out",
      summary: "Ends the session of this device",
      body: nothing,
      response: meSchema,
      handle: ({ request, response }) => {
        const session = sessionOf(request);
        if (session !== null) people.signOut(session);
        clearSession(request, response);
        return me(null);
      },
    }),
    visit({
      method: "post",
      path: "/api/set-up",
      summary: "Makes the first person, who installs, with the token of the set-up link",
      looksAtPin: true,
      body: setUpSchema,
      response: meSchema,
      handle: async ({ body, request, response }) => {
        const signedIn = await people.setUp(body.token, body.name, body.pin);
        setSession(request, response, signedIn);
        return welcome(signedIn);
      },
    }),
    visit({
      method: "post",
      path: "/api/me/pin",
      summary: "Changes one's own PIN; other sessions of this person end",
      looksAtPin: true,
      body: ownPinSchema,
      response: meSchema,
      handle: async ({ body, request }) => {
        const session = sessionOf(request) ?? "";
        await people.changeOwnPin(body.pin, body.newPin, { session, device: deviceOf(request) });
        return me(session);
      },
    }),
    route({
      method: "get",
      path: "/api/people",
      summary:
        "The active people of the shop and their roles; for an installer all, and who is locked out on new devices",
      response: peopleSchema,
      handle: ({ asker }) => (asker?.role === "installer" ? list() : activeOnes()),
    }),
    entry({
      method: "post",
      path: "/api/people",
      summary: "Adds a person with a role and a first PIN",
      roles: ["installer"],
      looksAtPin: true,
      knows,
      body: newPersonSchema,
      response: peopleSchema,
      handle: async ({ body, by }) => {
        await people.add(body.name, body.role, body.pin, by);
        return list();
      },
    }),
    entry({
      method: "patch",
      path: "/api/people/{name}",
      summary: "Changes a person's role, gives a new PIN, or ends their being active",
      roles: ["installer"],
      looksAtPin: true,
      knows,
      params: z.object({ name: z.string() }),
      body: personChangeSchema,
      status: 200,
      response: peopleSchema,
      handle: async ({ params, body, by }) => {
        await people.change(params.name, body, by);
        return list();
      },
    }),
  ];
}
