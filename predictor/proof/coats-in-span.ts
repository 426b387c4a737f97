/** The coats that were finished in a span, each with its figures, reckoned anew from the store. */
import type { Follow } from "../follow/follow.ts";
import { carHistory, type Places } from "../follow/place-history.ts";
import type { ReadingStore } from "../readings/store.ts";
import type { Coat, Records } from "../records/records.ts";
import { coatFigures } from "./coat-figures.ts";
import type { FiguredCoat } from "./span-figures.ts";

export interface CoatsInSpanParts {
  store: ReadingStore;
  records: Records;
  follow: Follow;
  shopFile: { places: Places };
  now: () => number;
}

/** Coat by coat, so that other work goes on between two. */
export async function figuredCoats(parts: CoatsInSpanParts, coats: readonly Coat[]): Promise<FiguredCoat[]> {
  const figured: FiguredCoat[] = [];
  for (const coat of coats) {
    await new Promise((resolve) => setImmediate(resolve));
    figured.push(await figuredCoat(parts, coat));
  }
  return figured;
}

async function figuredCoat(
  { store, records, follow, shopFile, now }: CoatsInSpanParts,
  coat: Coat,
): Promise<FiguredCoat> {
  const nowMs = now();
  const state = await follow.coat(coat.id);
  const stays = state.stays.map((stay) => ({ ...stay, toMs: Math.min(stay.toMs, nowMs + 1) }));
  const { readings } = await carHistory(store, shopFile.places, stays);
  const checks = records.checksOf(coat.id).filter(({ withdrawn }) => withdrawn === null);
  const figures = coatFigures({ state, readings, checks, coatsOfCar: records.coatsOf(coat.carId), nowMs });
  const { sheetId, sheetRevision, finishedAtMs } = coat;
  return { coatId: coat.id, sheetId, sheetRevision, place: stays[0]?.place ?? null, finishedAtMs, figures };
}
