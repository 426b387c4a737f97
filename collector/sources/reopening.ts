/** Keeps a link open, whatever becomes of it: session after session, until it is told to end. */
import { setTimeout as delay } from "node:timers/promises";
import type { Logger } from "pino";

export interface SessionEnd {
  /** In words, for the source's state. */
  reason: string;
  /** Whether anything of use came over the link. */
  heard: boolean;
}

const firstRetryMs = 500;
const longestRetryMs = 15_000;

/**
 * Runs a session, which must not reject, and the next one some time after it has ended: after half a second where it was of use, up to
 * 15 s apart where none was. `ended` is told why each one ended, but for the last. Resolves when `signal` has been aborted.
 */
export async function reopen(
  session: () => Promise<SessionEnd>,
  ended: (reason: string) => void,
  signal: AbortSignal,
): Promise<void> {
  let retryMs = firstRetryMs;
  while (!signal.aborted) {
    const { reason, heard } = await session();
    if (signal.aborted) return;
    ended(reason);
    retryMs = heard ? firstRetryMs : Math.min(retryMs * 2, longestRetryMs);
    await delay(retryMs, undefined, { signal }).catch(() => undefined);
  }
}

/** Warns of a serial port that is not named by its device. */
export function warnOfChangingName(path: string, logger: Logger): void {
  if (path.startsWith("/dev/serial/by-id/")) return;
  const remedy = "a name under /dev/serial/by-id/ stays with its device";
  logger.warn({ path }, `this port's name may belong to another device after a restart; ${remedy}`);
}
