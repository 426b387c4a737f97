/** Whether a name in an address is this machine's. */
import { isIPv4 } from "node:net";

/** By its name alone: what is not plainly this machine is another. */
export function isThisMachine(host: string): boolean {
  const name = host.toLowerCase().replace(/\.$/, "");
  const isLoopback = name === "::1" || name === "[::1]" || (isIPv4(name) && /^127\./.test(name));
  return name === "localhost" || name.endsWith(".localhost") || isLoopback;
}
