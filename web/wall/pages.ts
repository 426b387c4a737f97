/** Which coats a wall shows when more stand there than fit: pages turn by themselves, urgent coats stay. */
import type { CoatView } from "../../predictor/serve/api.ts";
import { nextEventMs } from "../parts/coat-words.ts";

/** How long one page stands. */
export const pageMs = 12_000;
const soonMs = 300_000;

export interface Page {
  /** In the order they were given. */
  coats: CoatView[];
  /** From 1. */
  number: number;
  of: number;
}

/** Whether someone should look now: a window is open or closing, a check is due, or something happens within five minutes. */
export function isUrgent(coat: CoatView, nowMs: number): boolean {
  if (coat.prediction === null) return false;
  if (coat.prediction.windows.some((window) => window.state === "open" || window.state === "closing")) return true;
  return coat.prediction.next?.state === "check first" || nextEventMs(coat) - nowMs <= soonMs;
}

/**
 * The page for an instant. With `capacity` places (at least 2), urgent coats hold all but one of them in the order given,
 * and the last one always turns, so that no coat stays unseen.
 */
export function pageAt(coats: readonly CoatView[], capacity: number, nowMs: number): Page {
  if (coats.length <= capacity) return { coats: [...coats], number: 1, of: 1 };
  const staying = new Set(coats.filter((coat) => isUrgent(coat, nowMs)).slice(0, capacity - 1));
  const turning = coats.filter((coat) => !staying.has(coat));
  const room = capacity - staying.size;
  const of = Math.ceil(turning.length / room);
  const index = Math.floor(nowMs / pageMs) % of;
  const shown = new Set([...staying, ...turning.slice(index * room, (index + 1) * room)]);
  return { coats: coats.filter((coat) => shown.has(coat)), number: index + 1, of };
}

/** The one of a list whose turn it is, alone; nothing of an empty list. Turns with the pages. */
export function onTurn<Item>(items: readonly Item[], nowMs: number): Item[] {
  const item = items[Math.floor(nowMs / pageMs) % Math.max(1, items.length)];
  return item === undefined ? [] : [item];
}
