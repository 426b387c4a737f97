/** How a recorded coat enters the cure model. */
import type { CoatSetup } from "../cure/climb.ts";
import { buildLadder } from "../cure/ladder.ts";
import type { Substrate } from "../cure/panel.ts";
import type { Sheet } from "../cure/sheet.ts";
import type { Coat } from "../records/records.ts";

/**
 * How uncertain the activation energy is below the temperatures that a sheet covers, kJ/mol: assumed; published aliphatic
 * urethanes lie between 45 and 70.
 */
export const coldEnergyKJ = 10;

/** A coat by a sheet, whenever it is finished, with the sheet's own film. */
export function sheetSetup(sheet: Sheet, substrate: Substrate): Omit<CoatSetup, "finishedAtMs"> {
  return { ladder: buildLadder(sheet), substrate, coldEnergyKJ };
}

export function coatSetup(coat: Coat, sheet: Sheet): CoatSetup {
  return {
    ...sheetSetup(sheet, coat.substrate),
    finishedAtMs: coat.finishedAtMs,
    ...(coat.filmUm === null ? {} : { filmUm: coat.filmUm }),
    ...(coat.panelAtFinishC === null ? {} : { panelAtFinishC: coat.panelAtFinishC }),
  };
}
