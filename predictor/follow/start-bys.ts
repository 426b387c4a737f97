/** By when the next coat must be finished to be ready before work ends: told for each place, reckoned in the quiet between. */
import type { Logger } from "pino";
import type { Sheet, StageName } from "../cure/sheet.ts";
import { freshOutcome } from "../plan/fresh-coat.ts";
import { aheadOf } from "../plan/place-ahead.ts";
import { type StartBy, startBy } from "../plan/start-by.ts";
import type { Records } from "../records/records.ts";
import type { ShopFile } from "../shop-file.ts";
import type { ShopTime } from "../shop-time.ts";
import type { Follow } from "./follow.ts";

export interface StartByParts {
  shopFile: Pick<ShopFile, "places">;
  records: Records;
  follow: Pick<Follow, "outlook" | "freshSetup">;
  shopTime: ShopTime;
  now: () => number;
  logger: Logger;
}

export interface PlaceStartBy extends StartBy {
  /** Where the coat would be finished and stand. */
  place: string;
  sheet: Sheet;
  stage: StageName;
  byMs: number;
}

const reckonEveryMs = 3 * 60_000;
/** Looked at this often whether something is missing, as before the first readings. */
const lookEveryMs = 20_000;
/** What a coat waits for before the car can go on: the first of these that a sheet has. */
const goals: readonly StageName[] = ["demask", "sand", "assemble"];

export class StartBys {
  readonly #parts: StartByParts;
  readonly #bySheet = new Map<string, PlaceStartBy[]>();
  #timer: NodeJS.Timeout | null = null;
  #reckoning: Promise<void> | null = null;
  #reckonedAtMs = Number.NEGATIVE_INFINITY;
  #stopped = false;

  constructor(parts: StartByParts) {
    this.#parts = parts;
  }

  /** Reckons after it returns, and anew every three minutes. */
  start(): void {
    const again = () => {
      const isMissing = this.#bySheet.size === 0 || [...this.#bySheet.values()].some((answers) => answers.length === 0);
      if (!isMissing && this.#parts.now() - this.#reckonedAtMs < reckonEveryMs) return;
      this.#reckoning ??= this.reckon()
        .catch((error: unknown) => {
          this.#parts.logger.error({ err: error }, "by when to start could not be reckoned; the last answers stay");
        })
        .finally(() => {
          this.#reckoning = null;
        });
    };
    again();
    this.#timer = setInterval(again, lookEveryMs);
  }

  async stop(): Promise<void> {
    this.#stopped = true;
    if (this.#timer !== null) clearInterval(this.#timer);
    await this.#reckoning;
  }

  /** For what is sprayed in a place: there first, then in the other places. Empty when work is over, or no hours are given. */
  at(place: string): PlaceStartBy[] {
    const nowMs = this.#parts.now();
    const found = this.#sheetsOf(place).flatMap((sheet) => this.#bySheet.get(sheet.id) ?? []);
    return found
      .filter(({ byMs }) => byMs > nowMs)
      .map((each) => ({ ...each, ...stillAhead(each, nowMs) }))
      .sort((a, b) => Number(b.place === place) - Number(a.place === place));
  }

  /** For any sheet, stage, film on steel and instant: in every place where a coat may stand. */
  async ask(sheet: Sheet, stage: StageName, byMs: number): Promise<PlaceStartBy[]> {
    const { shopFile, follow, now } = this.#parts;
    const coat = await follow.freshSetup(sheet, "steel");
    const answers: PlaceStartBy[] = [];
    for (const [place, { kind }] of Object.entries(shopFile.places)) {
      const nowMs = now();
      const outlook = kind === "yard" || kind === "mixing" ? null : follow.outlook(place);
      if (outlook === null || !(byMs > nowMs)) continue;
      const ahead = aheadOf(outlook, nowMs);
      const outcomeOf = (finishedAtMs: number) => freshOutcome(coat, ahead, finishedAtMs);
      answers.push({ place, sheet, stage, byMs, ...startBy({ outcomeOf, stage, byMs, nowMs }) });
      await new Promise((resolve) => setImmediate(resolve));
    }
    return answers;
  }

  /** Reckons for every sheet that some place sprays; called by the timer. */
  async reckon(): Promise<void> {
    const { shopFile, shopTime, now } = this.#parts;
    this.#reckonedAtMs = now();
    const byMs = shopTime.workEndsAtMs(now());
    if (byMs === null) {
      this.#bySheet.clear();
      return;
    }
    const sheets = new Set(Object.keys(shopFile.places).flatMap((place) => this.#sheetsOf(place)));
    for (const sheet of sheets) {
      const stage = goals.find((goal) => sheet.stages.some((each) => each.stage === goal));
      if (stage === undefined || this.#stopped) continue;
      this.#bySheet.set(sheet.id, await this.ask(sheet, stage, byMs));
    }
  }

  /** Sheets sprayed in a place that a car waits for; those with a window go under the next coat at once. */
  #sheetsOf(place: string): Sheet[] {
    const { shopFile, records } = this.#parts;
    const named = shopFile.places[place]?.sheets ?? [];
    return records.sheets().filter((sheet) => named.includes(sheet.id) && sheet.windows.length === 0);
  }
}

/** A finish that has passed since it was reckoned is no answer any more. */
function stillAhead({ safeFinishAtMs, likelyFinishAtMs }: StartBy, nowMs: number): StartBy {
  const ahead = (ms: number | null) => (ms !== null && ms >= nowMs ? ms : null);
  return { safeFinishAtMs: ahead(safeFinishAtMs), likelyFinishAtMs: ahead(likelyFinishAtMs) };
}
