/** The spray check of a place for one sheet: now, at an instant that has passed, and in the hours ahead. */
import { isUsable, type Quantity } from "../../collector/readings.ts";
import type { Text } from "../../words/text.ts";
import { vapourPressureHpa } from "../air/humidity.ts";
import {
  decisive,
  type LimitFinding,
  type LimitName,
  limitFindings,
  type SprayAir,
  type SprayState,
  sprayState,
} from "../cure/limits.ts";
import type { Sheet } from "../cure/sheet.ts";
import type { SprayCheck } from "../cure/spray-check.ts";
import type { ReadingStore } from "../readings/store.ts";
import type { PlaceSettings, ShopFile } from "../shop-file.ts";
import { type ShopTime, shopTimeOf } from "../shop-time.ts";
import { dewPointOrNull } from "./current-air.ts";
import type { Follow } from "./follow.ts";
import { gapMs } from "./merge.ts";
import { seriesOf } from "./place-history.ts";
import { isCurrent } from "./place-now.ts";
import { limitText, verdictOf } from "./verdict.ts";

export interface SprayCheckParts {
  shopFile: Pick<ShopFile, "places" | "timeZone" | "workday">;
  store: Pick<ReadingStore, "range">;
  follow: Pick<Follow, "current" | "outlook">;
  /** Those that a check may be asked for: the newest revision of each. */
  records: { sheets(): Sheet[] };
  now: () => number;
}

export interface SprayAhead {
  atMs: number;
  state: SprayState;
  /** The limit that decides; null where all are well inside. */
  worst: Text | null;
}

export interface SprayOutlook {
  now: SprayCheck;
  reason: Text;
  ahead: SprayAhead[];
}

interface Known {
  value: number;
  sensor: string;
  atMs: number;
}
type KnownAir = Partial<Record<Quantity, Known>>;

const aheadAtMostMs = 12 * 3_600_000;

export class SprayChecks {
  readonly #parts: SprayCheckParts;
  readonly #shopTime: ShopTime;

  constructor(parts: SprayCheckParts) {
    this.#parts = parts;
    this.#shopTime = shopTimeOf(parts.shopFile);
  }

  /**
   * How the limits stood at an instant: by the newest reading of use at or before it, at most ten minutes old. A reading is
   * stored before it is current, so this holds for an instant just now, too. Null for an unknown place or sheet, and where
   * nothing was measured or single readings are no longer kept.
   */
  async at(placeId: string, sheetId: string, atMs: number): Promise<SprayCheck | null> {
    const place = this.#parts.shopFile.places[placeId];
    const sheet = this.#sheet(sheetId);
    if (place === undefined || sheet === undefined) return null;
    const found = check(placeId, sheet, await this.#stored(place, atMs), atMs);
    return found.limits.every(({ state }) => state === "not measured") ? null : found;
  }

  /**
   * Now by what is current, and each half hour until work ends, twelve hours at most. Ahead, the water in the air is taken to
   * stay as it is, and the panel to be as warm as the air (assumed). Null for an unknown place or sheet.
   */
  outlook(place: string, sheetId: string): SprayOutlook | null {
    const { shopFile, now } = this.#parts;
    const sheet = this.#sheet(sheetId);
    if (shopFile.places[place] === undefined || sheet === undefined) return null;
    const known = this.#current(place);
    const nowMs = now();
    const current = check(place, sheet, known, nowMs);
    const air = airOf(known);
    return { now: current, reason: verdictOf(air, [sheet]).reason, ahead: this.#ahead(place, sheet, air, nowMs) };
  }

  #ahead(place: string, { limits = {} }: Sheet, { airC, rhPercent }: SprayAir, nowMs: number): SprayAhead[] {
    const outlook = this.#parts.follow.outlook(place);
    if (outlook === null || airC === null || rhPercent === null) return [];
    const endsAtMs = this.#shopTime.workEndsAtMs(nowMs) ?? Number.POSITIVE_INFINITY;
    const untilMs = Math.min(endsAtMs, nowMs + aheadAtMostMs);
    // The next half hour is told, too, when work ends before it.
    const hours = outlook.hours.filter(({ atMs }, index) => index === 0 || atMs <= untilMs);
    return hours.map((hour) => {
      const found = limitFindings(limits, laterAir(airC, rhPercent, hour.airC));
      const worst = decisive(found);
      return { atMs: hour.atMs, state: sprayState(found), worst: worst && limitText(worst) };
    });
  }

  #sheet(id: string): Sheet | undefined {
    return this.#parts.records.sheets().find((sheet) => sheet.id === id);
  }

  /** Values that may still be shown as current. */
  #current(place: string): KnownAir {
    const { follow, now } = this.#parts;
    const known: KnownAir = {};
    for (const quantity of ["air-temperature", "air-humidity", "panel-temperature"] as const) {
      const current = follow.current(place, quantity);
      if (current !== undefined && isCurrent(current, now())) known[quantity] = current;
    }
    return known;
  }

  async #stored(place: PlaceSettings, atMs: number): Promise<KnownAir> {
    const known: KnownAir = {};
    for (const series of seriesOf(place)) {
      const { collector, sensor, quantity } = series;
      const samples = await this.#parts.store.range(series, atMs - gapMs, atMs + 1);
      const newest = samples.findLast((sample) => sample.meanOverMs === undefined && isUsable({ quantity, ...sample }));
      if (newest !== undefined) {
        known[quantity] = { value: newest.value, atMs: newest.atMs, sensor: `${collector}/${sensor}` };
      }
    }
    return known;
  }
}

/** Air that was warmed or cooled with the water it held: the vapour pressure stays, the humidity does not go above 100 %. */
function laterAir(airC: number, rhPercent: number, laterC: number): SprayAir {
  const rhLater = Math.min(100, (100 * vapourPressureHpa(airC, rhPercent)) / vapourPressureHpa(laterC, 100));
  return { airC: laterC, rhPercent: rhLater, panelC: laterC, dewPointC: dewPointOrNull(laterC, rhLater) };
}

function airOf(known: KnownAir): SprayAir {
  const airC = known["air-temperature"]?.value ?? null;
  const rhPercent = known["air-humidity"]?.value ?? null;
  const panelC = known["panel-temperature"]?.value ?? null;
  return { airC, rhPercent, panelC, dewPointC: dewPointOrNull(airC, rhPercent) };
}

function check(place: string, sheet: Sheet, known: KnownAir, atMs: number): SprayCheck {
  const found = limitFindings(sheet.limits ?? {}, airOf(known));
  const sourceOf: Record<LimitName, Known | undefined> = {
    "air temperature": known["air-temperature"],
    "panel temperature": known["panel-temperature"],
    humidity: known["air-humidity"],
    "dew-point margin": known["panel-temperature"] ?? known["air-temperature"],
  };
  const from = ({ what, value }: LimitFinding) => (value === null ? undefined : sourceOf[what]);
  return {
    atMs,
    place,
    sheetId: sheet.id,
    state: sprayState(found),
    limits: found.map((finding) => ({
      ...finding,
      sensor: from(finding)?.sensor ?? null,
      readingAtMs: from(finding)?.atMs ?? null,
    })),
  };
}
