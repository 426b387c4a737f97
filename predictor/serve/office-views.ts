/** What a head office holds of its shops, in the words of the API. Figures are as the shop reckoned them. */
import { text } from "../../words/text.ts";
import type { Words } from "../../words/words.ts";
import { isCovered } from "../follow/coat-state.ts";
import { type ClimatePlace, type Stay, seriesOf, staysFrom } from "../follow/place-history.ts";
import type { HeldShop, HeldShops } from "../head-office/shops.ts";
import type { BookRow } from "../proof/book-row.ts";
import type { CoatFigures } from "../proof/coat-figures.ts";
import { RecordFault } from "../records/record-fault.ts";
import type { Car, Coat } from "../records/records.ts";
import type { PlaceSettings } from "../shop-file.ts";
import type { CoatCourse, StageView } from "./api.ts";
import { coatFacts, stayBands } from "./coat-view.ts";
import { climateHistory, courseBucketAtLeastMs, courseEndMs } from "./history.ts";
import type { Held, HeldCoatFile, HeldState, ShopName } from "./office-api.ts";
import { HttpProblem } from "./problem.ts";
import { fileOf } from "./proof-views.ts";

/** A shop's readings come each minute or oftener; assumed. */
const silentAfterMs = 15 * 60_000;

const iso = (ms: number): string => new Date(ms).toISOString();
const isoOrNull = (ms: number | null): string | null => (ms === null ? null : iso(ms));

/** The places of a shop as it described them; none while it has not. */
export function placesOf({ described }: Pick<HeldShop, "described">): {
  places: Readonly<Record<string, ClimatePlace & Pick<PlaceSettings, "name" | "kind">>>;
} {
  return { places: described?.places ?? {} };
}

export function shopName({ id, described }: Pick<HeldShop, "id" | "described">): ShopName {
  return { id, name: described?.name ?? id };
}

export function heldState(shop: HeldShop, nowMs: number): HeldState {
  const { fault, lastHeardMs } = shop.state();
  if (fault !== null) return "doubtful";
  if (lastHeardMs === null) return shop.described === null ? "waiting" : "silent";
  return nowMs - lastHeardMs <= silentAfterMs ? "up-to-date" : "silent";
}

export async function heldView(shop: HeldShop, book: HeldShops["book"], nowMs: number): Promise<Held> {
  const { fault, lastHeardMs, recordsSeq } = shop.state();
  const newest = await Promise.all(
    Object.values(placesOf(shop).places)
      .flatMap(seriesOf)
      .map(async (series) => (await shop.readings.latest(series))?.atMs ?? Number.NEGATIVE_INFINITY),
  );
  const readingsUntilMs = Math.max(Number.NEGATIVE_INFINITY, ...newest);
  return {
    ...shopName(shop),
    invented: shop.described?.invented ?? false,
    state: heldState(shop, nowMs),
    lastHeardAt: isoOrNull(lastHeardMs),
    entries: recordsSeq,
    lastEntryAt: isoOrNull(shop.records.head()?.atMs ?? null),
    readingsUntil: Number.isFinite(readingsUntilMs) ? iso(readingsUntilMs) : null,
    coats: book.page({ shop: shop.id, sort: "finished", order: "down" }, nowMs, { from: 0, size: 0 }).total,
    fault,
  };
}

interface HeldCoat {
  row: BookRow;
  coat: Coat;
  car: Car;
  stays: Stay[];
}

/** A coat with its figures. Throws where either the figures or the entries are not held. */
export function heldCoat(shop: HeldShop, coatId: string, book: HeldShops["book"]): HeldCoat {
  const row = book.row(shop.id, coatId);
  const values = { shop: shopName(shop).name, entries: shop.state().recordsSeq };
  let coat: Coat;
  try {
    coat = shop.records.coat(coatId);
  } catch (error) {
    if (row === null || !(error instanceof RecordFault)) throw error;
    throw new HttpProblem(404, text("office.entries-missing", values));
  }
  if (row === null) throw new HttpProblem(404, text("office.figures-missing", values));
  const car = shop.records.car(coat.carId);
  return { row, coat, car, stays: staysFrom(car.moves, coat.finishedAtMs) };
}

export async function heldCoatFile(
  shop: HeldShop,
  coatId: string,
  { book, now }: { book: HeldShops["book"]; now: () => number },
  words: Words,
): Promise<HeldCoatFile> {
  const { row, coat, car, stays } = heldCoat(shop, coatId, book);
  const { records } = shop;
  const shopFile = placesOf(shop);
  const sheet = records.sheet(coat.sheetId, coat.sheetRevision);
  const stages = stagesTold(row.figures, now());
  const isTold = stages.some(({ likelyAt }) => likelyAt !== null);
  const next = stages.find(({ state }) => state !== "ready");
  return {
    coat: {
      ...coatFacts({ coat, car, sheet, place: car.moves.at(-1)?.place ?? null }, { records, shopFile }, words),
      covered: isCovered(coat, records.coatsOf(car.id)),
      prediction: isTold ? { stages, next: next === undefined ? null : { stage: next.stage } } : null,
      why: isTold ? null : words.t("office.no-times"),
      bands: stayBands(stays, shopFile),
    },
    ...fileOf({ coat, sheet, stays }, row.figures, { records, shopFile, now }, words),
    held: await heldView(shop, book, now()),
  };
}

function stagesTold(
  { stages }: CoatFigures,
  nowMs: number,
): Pick<StageView, "stage" | "state" | "likelyAt" | "safeAt">[] {
  const isPast = (ms: number | null) => ms !== null && ms <= nowMs;
  return stages.map(({ stage, likelyAtMs, safeAtMs }) => ({
    stage,
    state: isPast(safeAtMs) ? "ready" : isPast(likelyAtMs) ? "check first" : "not yet",
    likelyAt: isoOrNull(likelyAtMs),
    safeAt: isoOrNull(safeAtMs),
  }));
}

/** The air that the held readings tell of while a coat dried; nothing of its panel or how far it cured. */
export async function heldCourse(
  shop: HeldShop,
  coatId: string,
  { book, nowMs, points }: { book: HeldShops["book"]; nowMs: number; points: number },
): Promise<CoatCourse> {
  const { row, coat, stays } = heldCoat(shop, coatId, book);
  const fromMs = coat.finishedAtMs;
  const toMs = courseEndMs({ finishedAtMs: fromMs, stages: row.figures.stages, stays }, nowMs);
  const history = await climateHistory(shop.readings, placesOf(shop).places, stays, {
    fromMs,
    toMs,
    points,
    bucketAtLeastMs: courseBucketAtLeastMs,
  });
  const unknown = history.at.map(() => null);
  return { ...history, followedPanelC: unknown, curePercent: unknown };
}
