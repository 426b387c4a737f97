/** Reading the small files in which the kernel shows sensors: a read may take a second, fail, or never come back. */
import { open } from "node:fs/promises";
import { setTimeout as delay } from "node:timers/promises";

/** What a file said, or why it said nothing, in words that count as a kind. */
export type FileText = { text: string } | { fault: string };

/** Waited too long for this read; `busHangs`: not tried, since an earlier read on the same bus has not come back. */
export const noAnswer = "no answer";
export const busHangs = "bus hangs";
export const unplugged = "unplugged";

/** A 1-Wire conversion takes up to 750 ms (Linux kernel documentation, w1_therm); the rest is patience. */
const usualPatienceMs = 5000;

/** A sysfs file shows at most one page. */
const longestBytes = 4096;

/**
 * Reads of the whole program that have not come back, by bus. A read that hangs cannot be ended and holds one of the
 * four threads on which Node opens files and looks names up; so there is one for each bus and never more than two in all.
 */
const underWay = new Map<string, { over: Promise<void>; sinceMs: number }>();
const mostUnderWay = 2;

/**
 * Reads a small file, waiting `patienceMs` for it at most and for another read on the same bus before it. Never rejects.
 * What comes later than that is thrown away, since nobody knows when it was measured.
 */
export async function readPatiently(
  path: string,
  bus: string,
  signal: AbortSignal,
  patienceMs = usualPatienceMs,
): Promise<FileText> {
  while (!signal.aborted) {
    const own = underWay.get(bus);
    const ahead = own !== undefined ? [own] : underWay.size < mostUnderWay ? [] : [...underWay.values()];
    if (ahead.length === 0) {
      const reading = read(path);
      underWay.set(bus, { over: reading.then(() => void underWay.delete(bus)), sinceMs: performance.now() });
      return (await within(reading, patienceMs, signal)) ?? { fault: noAnswer };
    }
    const patienceLeftMs = Math.max(...ahead.map(({ sinceMs }) => sinceMs)) + patienceMs - performance.now();
    if (!(patienceLeftMs > 0)) break;
    await within(Promise.race(ahead.map(({ over }) => over)), patienceLeftMs, signal);
  }
  return { fault: busHangs };
}

/** Reads no more than a page, in one go: each read of a 1-Wire file is a measurement of its own. */
async function read(path: string): Promise<FileText> {
  try {
    const file = await open(path);
    try {
      const { buffer, bytesRead } = await file.read(Buffer.alloc(longestBytes));
      return { text: buffer.toString("latin1", 0, bytesRead) };
    } finally {
      await file.close();
    }
  } catch (error) {
    return { fault: faultOf(error) };
  }
}

/** The kind of a failed read, for counting and for the installer. */
export function faultOf(error: unknown): string {
  const code = error instanceof Error && "code" in error ? String(error.code) : "unknown";
  switch (code) {
    case "ENOENT":
    case "ENODEV":
    case "ENXIO":
      return unplugged;
    case "EIO":
      return "input/output error";
    case "ETIMEDOUT":
      return "timed out";
    case "EREMOTEIO":
      return "no acknowledge";
    case "EACCES":
    case "EPERM":
      return "not permitted";
    default:
      return `cannot read: ${code}`;
  }
}

/** What the promise gives, or undefined where it takes longer or the signal comes first. The promise must not reject. */
async function within<T>(promise: Promise<T>, ms: number, signal: AbortSignal): Promise<T | undefined> {
  const done = new AbortController();
  const end = () => done.abort();
  signal.addEventListener("abort", end);
  const late = delay(ms, undefined, { signal: done.signal }).catch(() => undefined);
  const first = await Promise.race([promise, late]);
  signal.removeEventListener("abort", end);
  end();
  return first;
}
