/** Puts together what is known of a place, for the rules to judge. */
import { type Text, text } from "../../words/text.ts";
import type { StageName } from "../cure/sheet.ts";
import { sheetWindows } from "../cure/windows.ts";
import type { CoatState } from "../follow/coat-state.ts";
import { currentAir } from "../follow/current-air.ts";
import type { Follow } from "../follow/follow.ts";
import { lateToday } from "../follow/late-today.ts";
import type { Pots } from "../follow/pots.ts";
import { sheetsInHand } from "../follow/verdict.ts";
import type { Records } from "../records/records.ts";
import type { ShopFile } from "../shop-file.ts";
import type { ShopTime } from "../shop-time.ts";
import type { CoatNow } from "./coat-rules.ts";
import type { Equipment } from "./equipment.ts";
import type { Situation } from "./rules.ts";
import type { Slips } from "./slips.ts";

export interface SituationParts {
  shopFile: Pick<ShopFile, "places">;
  follow: Pick<Follow, "current" | "coatsAt" | "outlook">;
  records: Records;
  pots: Pick<Pots, "at">;
  equipment: { at(place: string): Equipment };
  shopTime: Pick<ShopTime, "workEndsAtMs">;
  slips: Slips;
}

/** Until one of these a film takes up dust and water: the first that its sheet has. */
const wetUntil: readonly StageName[] = ["dust-free", "touch-dry", "tack-free", "overcoat"];

export function situationOf(parts: SituationParts, place: string, nowMs: number): Situation {
  const { shopFile, follow, records, pots, equipment, shopTime } = parts;
  const coats = follow.coatsAt(place);
  const workEndsAtMs = shopTime.workEndsAtMs(nowMs);
  return {
    nowMs,
    ...currentAir(follow, place, nowMs),
    hours: follow.outlook(place)?.hours ?? [],
    equipment: equipment.at(place),
    sheets: sheetsInHand(shopFile.places[place], coats, records),
    coats: coats.map((state) => coatNow(state, nowMs, workEndsAtMs, parts.slips)),
    pots: pots.at(place).map(({ mix, sheet, life, closingFromMs }) => ({
      id: mix.id,
      place: mix.place,
      kind: sheet.kind,
      mixedAtMs: mix.mixedAtMs,
      closingFromMs,
      useByAtMs: life.useByAtMs,
    })),
  };
}

function coatNow(state: CoatState, nowMs: number, workEndsAtMs: number | null, slips: Slips): CoatNow {
  const { coat, car, sheet, outcome, isPending, stays } = state;
  const { stages } = outcome;
  const wet = wetUntil.flatMap((step) => stages.filter(({ stage }) => stage === step))[0];
  const wetUntilMs = wet?.safeAtMs ?? null;
  // Before its readings are known nothing is known of it.
  const isKnown = !isPending && outcome.curePercent !== null;
  const isWet = wet !== undefined && !(wetUntilMs !== null && wetUntilMs <= nowMs);
  // The first stay is where it was sprayed.
  const movedWet = stays
    .slice(1)
    .find(({ fromMs }) => wet !== undefined && !(wetUntilMs !== null && wetUntilMs <= fromMs));
  return {
    id: coat.id,
    carId: car.id,
    name: nameOf(state),
    windows: sheet.windows.length === 0 ? [] : sheetWindows(sheet, outcome, coat.finishedAtMs, nowMs),
    stages,
    late: workEndsAtMs === null || isPending ? null : lateToday(outcome, nowMs, workEndsAtMs),
    isWet: isKnown && isWet,
    wetUntilMs,
    movedWetAtMs: isKnown ? (movedWet?.fromMs ?? null) : null,
    promisedAtMs: isKnown ? car.promisedAtMs : null,
    slip: !isKnown ? null : slips.of(coat.id, coat.finishedAtMs, stages, nowMs),
  };
}

function nameOf({ car, coat, sheet }: CoatState): Text {
  const panels = coat.panels.map((name) => ({ prefix: "panel", name }));
  return text("coat.name", { car: car.name, panels, kind: { prefix: "kind", name: sheet.kind } });
}
