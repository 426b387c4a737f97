/** How each stage is told from the others in a drawing, without colour: its dash and its mark. */
import type { StageName } from "../../../predictor/serve/sheet-api.ts";

export interface StageLook {
  dash: string;
  /** A path round 0, 0 within ±5. */
  mark: string;
}

/** In the order that sheets usually print them. */
export const stageLooks: Record<StageName, StageLook> = {
  "touch-dry": { dash: "2 4", mark: "M0 -5 L5 0 L0 5 L-5 0 Z" },
  "dust-free": { dash: "6 4", mark: "M-4 -4 H4 V4 H-4 Z" },
  "tack-free": { dash: "10 3 2 3", mark: "M-5 4 L0 -5 L5 4 Z" },
  overcoat: { dash: "14 4", mark: "M-5 -4 L0 5 L5 -4 Z" },
  sand: { dash: "14 4 2 4", mark: "M-5 -5 L5 5 M-5 5 L5 -5" },
  demask: { dash: "", mark: "M-4.5 0 A4.5 4.5 0 1 0 4.5 0 A4.5 4.5 0 1 0 -4.5 0 Z" },
  assemble: { dash: "4 2", mark: "M-5 0 H5 M0 -5 V5" },
  polish: { dash: "20 5", mark: "M-5 -2 H5 M-5 2 H5" },
  "full-cure": { dash: "14 4 2 4 2 4", mark: "M-5 -5 V5 M5 -5 V5 M-5 0 H5" },
};

export const allStages = Object.keys(stageLooks) as StageName[];
