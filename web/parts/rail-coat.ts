/** What of a coat stands on its rail. A head office knows the times of its stages, and neither windows nor what a sheet covers. */
import type { CoatView, StageView, WindowView } from "../../predictor/serve/api.ts";

export interface RailCoat extends Pick<CoatView, "car" | "sheet" | "finishedAt" | "bands" | "why"> {
  prediction: {
    stages: readonly RailStage[];
    windows?: readonly WindowView[];
    next: Pick<StageView, "stage"> | null;
  } | null;
}

export type RailStage = Pick<StageView, "stage" | "state" | "likelyAt" | "safeAt"> &
  Partial<Pick<StageView, "isCovered">>;
