/** What lies ahead, in the words of the API: the air of a place, by when to start, pots, and what checks teach. */
import { lessonWords } from "../cure/learning.ts";
import type { SheetLesson } from "../follow/lessons.ts";
import type { Outlook } from "../follow/outlooks.ts";
import type { Pot } from "../follow/pots.ts";
import type { PlaceStartBy } from "../follow/start-bys.ts";
import type { PlaceSettings, ShopFile } from "../shop-file.ts";
import type { HoursAhead, LessonView, Place, PotView, StartByView } from "./api.ts";

const iso = (ms: number): string => new Date(ms).toISOString();
const isoOrNull = (ms: number | null): string | null => (ms === null ? null : iso(ms));

/** Places by their ids, as the shop file or a description of the shop names them. */
export interface NamedPlaces {
  places: Readonly<Record<string, Pick<PlaceSettings, "name" | "kind">>>;
}

export function placeView(id: string, { places }: NamedPlaces): Place | null {
  const place = places[id];
  return place === undefined ? null : { id, name: place.name, kind: place.kind };
}

export function hoursAheadView(outlook: Outlook | null): HoursAhead | null {
  if (outlook === null) return null;
  const { hours } = outlook;
  const tenths = (tempC: number) => Math.round(tempC * 10) / 10;
  return {
    at: hours.map(({ atMs }) => iso(atMs)),
    airC: hours.map(({ airC }) => tenths(airC)),
    coldC: hours.map(({ coldC }) => tenths(coldC)),
    warmC: hours.map(({ warmC }) => tenths(warmC)),
  };
}

export function startByViews(answers: readonly PlaceStartBy[], shopFile: Pick<ShopFile, "places">): StartByView[] {
  return answers.flatMap(({ place, sheet, stage, byMs, safeFinishAtMs, likelyFinishAtMs }) => {
    const shown = placeView(place, shopFile);
    if (shown === null) return [];
    return [
      {
        place: shown,
        sheet: { id: sheet.id, name: sheet.name, kind: sheet.kind },
        stage,
        by: iso(byMs),
        safeFinishBy: isoOrNull(safeFinishAtMs),
        likelyFinishBy: isoOrNull(likelyFinishAtMs),
      },
    ];
  });
}

/** A pot's place may have left the shop file since the mixing: then it goes by its short name. */
export function potView({ mix, sheet, life, state }: Pot, shopFile: Pick<ShopFile, "places">): PotView {
  return {
    id: mix.id,
    sheet: { id: sheet.id, name: sheet.name, kind: sheet.kind },
    place: placeView(mix.place, shopFile) ?? { id: mix.place, name: mix.place, kind: "mixing" },
    mixedAt: iso(mix.mixedAtMs),
    usedPercent: life.usedShare === null ? null : 100 * life.usedShare,
    useBy: isoOrNull(life.useByAtMs),
    endsAt: isoOrNull(life.endsAtMs),
    state,
  };
}

export function lessonView({ lesson, isOff }: SheetLesson): LessonView {
  return {
    text: lessonWords(lesson, { off: isOff }),
    checks: lesson.checks,
    percentSlower: 100 * Math.expm1(-lesson.lnFactor),
    sigma: lesson.sigma,
    isOff,
  };
}
