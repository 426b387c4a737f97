/** A coat as the rest of the program sees it. */
import type { Ahead, Outcome } from "../cure/climb.ts";
import type { Sheet } from "../cure/sheet.ts";
import type { Car, Coat } from "../records/records.ts";
import type { SheetLesson } from "./lessons.ts";
import type { Stay } from "./place-history.ts";

/** What is known of a coat at an instant. */
export interface CoatState {
  coat: Coat;
  car: Car;
  sheet: Sheet;
  place: string | null;
  covered: boolean;
  /** Its history is still being read: the outcome says nothing yet. */
  isPending: boolean;
  stays: Stay[];
  /** As the hours ahead of its place have it. */
  readonly outcome: Outcome;
  /** As of an instant, under other conditions to come. */
  outcomeUnder: (asOfMs: number, ahead?: Ahead) => Outcome;
  /** Panel and progress at each of some instants; null where nothing can be said. */
  course: (instantsMs: readonly number[]) => ({ panelC: number; curePercent: number } | null)[];
  lesson: SheetLesson;
  lastReadingAtMs: number | null;
}

/** Whether later coats lie on all of a coat's panels. */
export function isCovered(coat: Coat, coatsOfCar: readonly Coat[]): boolean {
  const later = coatsOfCar.slice(coatsOfCar.findIndex((each) => each.id === coat.id) + 1);
  return coat.panels.every((panel) => later.some((each) => each.panels.includes(panel)));
}
