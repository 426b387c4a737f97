/** Which coats a wall shows when more stand there than fit: pages turn by themselves, urgent coats stay. */
import type { CoatView } from "../../predictor/serve/api.ts";
import { nextEventMs } from "../parts/coat-words.ts";

/** How long one page stands. */
export const pageMs = 12_000;
const soonMs = 300_000;

export interface Page<Item> {
  /** In the order they were given. */
  items: Item[];
  /** From 1. */
  number: number;
  of: number;
}

/** How much a coat wants a look now: 3 a closing window, 2 a check that is due, 1 an open window or something within five minutes; 0 none. */
export function urgencyOf(coat: CoatView, nowMs: number): number {
  const { prediction } = coat;
  if (prediction === null) return 0;
  if (prediction.windows.some(({ state }) => state === "closing")) return 3;
  if (prediction.next?.state === "check first") return 2;
  if (prediction.windows.some(({ state }) => state === "open")) return 1;
  return nextEventMs(coat) - nowMs <= soonMs ? 1 : 0;
}

/**
 * The page for an instant. With `capacity` places (at least 1), the most urgent items hold all but one of them; where there
 * are too many of those, they take turns in them. The last place always turns, so that none stays unseen.
 */
export function pageAt<Item>(
  items: readonly Item[],
  capacity: number,
  urgency: (item: Item) => number,
  nowMs: number,
): Page<Item> {
  if (items.length <= capacity) return { items: [...items], number: 1, of: 1 };
  const turn = Math.floor(nowMs / pageMs);
  const urgent = items.filter((item) => urgency(item) > 0).sort((a, b) => urgency(b) - urgency(a));
  const [first] = urgent;
  const best = first === undefined ? [] : urgent.filter((item) => urgency(item) === urgency(first));
  const held = capacity - 1;
  const isCrowded = best.length > held;
  // All alike, or one place only: nothing can stay.
  const staying = best.length === items.length || held === 0 ? [] : isCrowded ? best : urgent.slice(0, held);
  const turning = items.filter((item) => !staying.includes(item));
  const room = capacity - Math.min(staying.length, held);
  const of = Math.ceil(turning.length / room);
  const shown = [...slice(staying, held, turn), ...slice(turning, room, turn)];
  return { items: items.filter((item) => shown.includes(item)), number: (turn % of) + 1, of };
}

/** The part of a list whose turn it is, `size` at a time; all of it where it is no longer. */
function slice<Item>(items: readonly Item[], size: number, turn: number): readonly Item[] {
  if (items.length <= size) return items;
  const index = turn % Math.ceil(items.length / size);
  return items.slice(index * size, (index + 1) * size);
}

/** The coats' page for an instant: those that want a look stay. */
export const coatsAt = (coats: readonly CoatView[], capacity: number, nowMs: number): Page<CoatView> =>
  pageAt(coats, capacity, (coat) => urgencyOf(coat, nowMs), nowMs);

/** The one of a list whose turn it is, alone; nothing of an empty list. Turns with the pages. */
export function onTurn<Item>(items: readonly Item[], nowMs: number): Item[] {
  const item = items[Math.floor(nowMs / pageMs) % Math.max(1, items.length)];
  return item === undefined ? [] : [item];
}

/** In turn: what is the matter, and what to do. Both have stood before the page turns. */
export const halfTurn = (nowMs: number): "text" | "action" =>
  Math.floor((2 * nowMs) / pageMs) % 2 === 0 ? "text" : "action";
