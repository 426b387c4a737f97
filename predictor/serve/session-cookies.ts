/** The two cookies: who is signed in, and which device this is. No script of a page can read them, and no other site can send them. */
import { parseCookie, stringifySetCookie } from "cookie";
import type { Request, Response } from "express";
import type { SignedIn } from "../people/people.ts";
import { deviceMs, longestMs } from "../people/sessions.ts";

export const sessionCookie = "coatclock";
const deviceCookie = "coatclock-device";

/** Longer ones are none of ours. */
const tokenLength = 43;

function cookieOf(request: Request, name: string): string | null {
  const value = parseCookie(request.get("cookie") ?? "")[name];
  return value?.length === tokenLength ? value : null;
}

export function sessionOf(request: Request): string | null {
  return cookieOf(request, sessionCookie);
}

export function deviceOf(request: Request): string | null {
  return cookieOf(request, deviceCookie);
}

export function setSession(request: Request, response: Response, { session, device }: SignedIn): void {
  set(request, response, sessionCookie, session, longestMs);
  set(request, response, deviceCookie, device, deviceMs);
}

/** The device stays known. */
export function clearSession(request: Request, response: Response): void {
  set(request, response, sessionCookie, "", 0);
}

function set(request: Request, response: Response, name: string, value: string, lastsMs: number): void {
  response.append(
    "Set-Cookie",
    stringifySetCookie({
      name,
      value,
      maxAge: lastsMs / 1000,
      path: "/",
      httpOnly: true,
      sameSite: "strict",
      // The shop's network speaks plain HTTP unless someone puts TLS in front.
      secure: request.secure,
    }),
  );
}
