/** What a sheet says beside its figures: ladder, curves, slopes and windows. */
import type { LadderView } from "../../../predictor/serve/sheet-api.ts";
import { useWords } from "../../parts/words-context.ts";
import { Curves, coveredOf } from "./curves.tsx";
import { LadderDrawing } from "./ladder-drawing.tsx";
import { minutesWords } from "./minutes-words.ts";
import "./drawing.css";

export function SheetPicture({ ladder }: { ladder: LadderView }) {
  const words = useWords();
  const { reference, rhPercent, airSpeedMps, filmUm, windows } = ladder;
  const energies = ladder.stages.filter(({ energies: each }) => each.length > 0);
  const usual = ladder.stages.filter(({ stage, isPercentPrinted }) => !isPercentPrinted && stage !== "full-cure");
  const isFullCureUsual = ladder.stages.some(({ isPrinted, by }) => !isPrinted && by !== null);
  return (
    <div class="sheet-picture">
      <div class="sheet-drawings">
        <LadderDrawing ladder={ladder} />
        <Curves ladder={ladder} />
      </div>
      <p class="hint">
        {words.t("sheets.holds-for", {
          ...coveredOf(ladder),
          film: words.number(filmUm, Number.isInteger(filmUm) ? 0 : 1),
          humidity: rhPercent,
          speed: airSpeedMps,
        })}
      </p>
      {usual.length > 0 && (
        <p class="hint">
          {words.t("sheets.usual", { stages: usual.map(({ stage }) => ({ prefix: "stage", name: stage })) })}
        </p>
      )}
      {isFullCureUsual && <p class="hint">{words.t("sheets.usual-full-cure", { at: { celsius: 20 } })}</p>}
      {energies.length > 0 && (
        <>
          <h3>{words.t("sheets.energies")}</h3>
          <ul class="sheet-list">
            {energies.map(({ stage, energies: spans }) => (
              <li key={stage}>
                {words.named("stage", stage)}:{" "}
                {spans
                  .map(({ fromC, toC, kJ }) =>
                    words.t("sheets.energy", {
                      ...{ from: { celsius: fromC }, to: { celsius: toC } },
                      energy: words.number(kJ, 0),
                    }),
                  )
                  .join("; ")}
              </li>
            ))}
          </ul>
        </>
      )}
      {windows.length > 0 && (
        <>
          <h3>{words.t("sheets.windows-at", { at: { celsius: reference.tempC } })}</h3>
          <ul class="sheet-list">
            {windows.map(({ for: what, opensMinutes, closesMinutes, ifMissed }, index) => (
              <li key={index}>
                {words.t("sheets.window", {
                  what,
                  opens: minutesWords(opensMinutes, words),
                  closes: minutesWords(closesMinutes, words),
                  missed: ifMissed,
                })}
              </li>
            ))}
          </ul>
        </>
      )}
    </div>
  );
}
