/** Chooses what climbs a sheet: its rungs, or its kinetics where it carries those. */
import type { Ascent } from "./ascent.ts";
import { KineticAscent } from "./kinetics/kinetic-ascent.ts";
import type { Ladder } from "./ladder.ts";
import { LadderAscent } from "./ladder-ascent.ts";

export interface AscentOptions {
  /** Dry film build; the sheet's own when undefined; kinetics take no account of it. */
  filmUm: number | undefined;
  /** By how much the lowered run takes every panel temperature lower. */
  uncertaintyC: number;
  /** One factor on all rates. */
  rateFactor: number;
}

/** Throws a RangeError for a film build that cannot be. */
export function startAscent(ladder: Ladder, { filmUm, uncertaintyC, rateFactor }: AscentOptions): Ascent {
  const { kinetics, stages } = ladder;
  if (kinetics !== null) return new KineticAscent({ kinetics, stages, uncertaintyC, rateFactor });
  return new LadderAscent(ladder, filmUm ?? ladder.filmUm, uncertaintyC, rateFactor);
}
