/** By which names this machine may be asked for. */
import { isIP } from "node:net";
import { hostname } from "node:os";
import type { RequestHandler } from "express";
import { text } from "../../words/text.ts";
import { HttpProblem } from "./problem.ts";

/** Names under these no public name server gives (RFC 6761, RFC 6762, RFC 8375; .internal is set aside for private use). */
const privateSuffixes = [".local", ".localhost", ".home.arpa", ".internal"];

/**
 * Tells whether a Host header names this machine. A page of another site can have its own name lead here (DNS rebinding), and
 * then reads and asks as if it were ours: so names that the public can own are taken only where the shop file has them. An
 * IP address, a name without a dot and one under .local and the like are no such names. False for what is no host at all.
 */
export function ownHosts(
  { address, hostNames }: { address?: string | undefined; hostNames: readonly string[] },
  machine = hostname(),
): (host: string) => boolean {
  const named = new Set([machine, ...hostNames].map((name) => name.toLowerCase()));
  if (address !== undefined) named.add(new URL(address).hostname);
  return (host) => {
    const name = nameIn(host);
    if (name === null) return false;
    const isPrivate = !name.includes(".") || privateSuffixes.some((suffix) => name.endsWith(suffix));
    return isIP(name) !== 0 || isPrivate || named.has(name);
  };
}

/** The name or address in a Host header, in lower case, without its port, brackets and last dot. */
function nameIn(host: string): string | null {
  const [, inBrackets, name] = /^(?:\[([0-9a-f:.]+)\]|([a-z0-9._-]+))(?::\d{1,5})?$/i.exec(host) ?? [];
  return inBrackets ?? name?.toLowerCase().replace(/\.$/, "") ?? null;
}

/**
 * Answers 421 (RFC 9110, 15.5.20) to whoever asks under a name that is not ours: the one in Host, and the one that a proxy on
 * this machine says it was asked by.
 */
export function refuseOtherNames(isOwn: (host: string) => boolean): RequestHandler {
  return (request, _response, next) => {
    const other = [request.headers.host, request.host].find((host) => host !== undefined && !isOwn(host));
    if (other === undefined) next();
    else throw new HttpProblem(421, text("host.unknown", { host: other.slice(0, 100) }));
  };
}
