/** How a recorded coat enters the cure model. */
import type { CoatSetup } from "../cure/climb.ts";
import { buildLadder } from "../cure/ladder.ts";
import type { Sheet } from "../cure/sheet.ts";
import type { Coat } from "../records/records.ts";

/**
 * How uncertain the activation energy is below the temperatures that a sheet covers, kJ/mol: assumed; published aliphatic
 * urethanes lie between 45 and 70.
 */
export const coldEnergyKJ = 10;

export function coatSetup(coat: Coat, sheet: Sheet): CoatSetup {
  return {
    ladder: buildLadder(sheet),
    finishedAtMs: coat.finishedAtMs,
    substrate: coat.substrate,
    coldEnergyKJ,
    ...(coat.filmUm === null ? {} : { filmUm: coat.filmUm }),
    ...(coat.panelAtFinishC === null ? {} : { panelAtFinishC: coat.panelAtFinishC }),
  };
}
