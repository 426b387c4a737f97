/** The limits as they stood where a coat was sprayed: what its record keeps. */
import type { LimitFinding, SprayState } from "./limits.ts";

/** A limit with where its value comes from. */
export interface CheckedLimit extends LimitFinding {
  /** `<collector>/<sensor>`; of the panel for the margin over the dew point, of the air where no panel is measured. */
  sensor: string | null;
  readingAtMs: number | null;
}

export interface SprayCheck {
  atMs: number;
  place: string;
  sheetId: string;
  state: SprayState;
  limits: CheckedLimit[];
}
