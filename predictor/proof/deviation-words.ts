/** A deviation in words, with its figures. */
import { type Text, text } from "../../words/text.ts";
import type { CoatState } from "../follow/coat-state.ts";
import type { CoatFigures, DeviationCode } from "./coat-figures.ts";

export function deviationText(
  code: DeviationCode,
  figures: CoatFigures,
  { coat, sheet }: Pick<CoatState, "coat" | "sheet">,
): Text {
  switch (code) {
    case "gap":
      return text("deviated.gap", { minutes: Math.round(figures.gapMinutes) });
    case "dried-outside-limits":
      return text("deviated.dried-outside-limits", { outside: outsideTexts(figures) });
    case "sprayed-outside-limits": {
      const outside = coat.sprayCheck?.limits.filter(({ state }) => state === "outside") ?? [];
      return text("deviated.sprayed-outside-limits", {
        outside: outside.map(({ what }) => ({ prefix: "quantity", name: what })),
      });
    }
    case "window-missed":
      return text("deviated.window-missed", {
        at: { dateMs: figures.coveredAtMs ?? Number.NaN },
        done: sheet.windows.map(({ ifMissed }) => ({ prefix: "missed", name: ifMissed })),
      });
    case "covered-early":
      return text("deviated.covered-early", { at: { dateMs: figures.coveredAtMs ?? Number.NaN } });
    case "not-ready-when-safe": {
      const found = figures.stages.filter(
        ({ safeAtMs, notYetCheckedAtMs }) =>
          safeAtMs !== null && notYetCheckedAtMs !== null && notYetCheckedAtMs >= safeAtMs,
      );
      return text("deviated.not-ready-when-safe", { stages: found.map(({ stage }) => text(`stage.${stage}`)) });
    }
    default:
      return text(`deviated.${code}`);
  }
}

function outsideTexts({ airC, panelC, rhPercent, dewMarginC }: CoatFigures): Text[] {
  const spreads = [
    ["quantity.air-temperature", airC],
    ["quantity.panel-temperature", panelC],
    ["quantity.humidity", rhPercent],
    ["quantity.dew-point-margin", dewMarginC],
  ] as const;
  return spreads.flatMap(([key, spread]) => {
    const minutes = Math.round(spread?.minutesOutside ?? 0);
    return minutes === 0 ? [] : [text("deviated.outside-for", { what: text(key), minutes })];
  });
}
