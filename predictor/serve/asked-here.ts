/** Whether a request was made on this very machine. */
import { BlockList } from "node:net";
import type { Request } from "express";

const loopback = new BlockList();
loopback.addSubnet("127.0.0.0", 8, "ipv4");
loopback.addAddress("::1", "ipv6");

/**
 * False for what a proxy on this machine passes on, whoever asked it: it tells itself by its headers. One that sends none of
 * them is not found out; but sign-in does not work behind such a one either (docs/people.md).
 */
export function isAskedHere({ socket: { remoteAddress = "", remoteFamily }, headers }: Request): boolean {
  const isPassedOn = Object.keys(headers).some((name) => /^(forwarded|via|x-real-ip|x-forwarded-.*)$/.test(name));
  return !isPassedOn && loopback.check(remoteAddress, remoteFamily === "IPv6" ? "ipv6" : "ipv4");
}
