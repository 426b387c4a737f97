/** A sheet as it is printed: what it is, its table of minutes, its limits and windows, how it is mixed and sprayed. */
import type { SheetView } from "../../../predictor/serve/api.ts";
import type { TextKey } from "../../../words/text.ts";
import type { Words } from "../../../words/words.ts";
import { useWords } from "../../parts/words-context.ts";
import { Scroll } from "../scroll.tsx";

export function PrintedSheet({ sheet }: { sheet: SheetView }) {
  const words = useWords();
  const temperatures = [...new Set(sheet.stages.flatMap(({ minutesAtC }) => Object.keys(minutesAtC ?? {})))].sort(
    (a, b) => Number(a) - Number(b),
  );
  const figure = (value: number | undefined) => (value === undefined ? "" : words.t("sheets.figure", { value }));
  return (
    <div class="sheet-printed">
      <Scroll name={words.t("sheets.stages")}>
        <table class="desk-table">
          <caption>{words.t("sheets.stages-caption")}</caption>
          <thead>
            <tr>
              <th scope="col">{words.t("sheets.field.stages.stage")}</th>
              {temperatures.map((tempC) => (
                <th key={tempC} scope="col" class="figure">
                  {words.temperature(Number(tempC))}
                </th>
              ))}
              <th scope="col" class="figure">
                %
              </th>
              <th scope="col">{words.t("sheets.field.stages.by")}</th>
            </tr>
          </thead>
          <tbody>
            {sheet.stages.map(({ stage, by, minutesAtC = {}, curePercent }) => (
              <tr key={stage}>
                <th scope="row">{words.named("stage", stage)}</th>
                {temperatures.map((tempC) => (
                  <td key={tempC} class="figure">
                    {figure(minutesAtC[tempC]) || <Blank />}
                  </td>
                ))}
                <td class="figure">{figure(curePercent) || <Blank />}</td>
                <td>{words.named("waits-for", by)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
      <dl class="sheet-facts">
        {factsOf(sheet, words).map(([name, value]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>{value}</dd>
          </div>
        ))}
      </dl>
      {sheet.windows.length > 0 && (
        <>
          <h3>{words.t("sheets.field.windows")}</h3>
          <ul class="sheet-list">
            {sheet.windows.map((window) => (
              <li key={JSON.stringify(window)}>{windowText(window, words)}</li>
            ))}
          </ul>
        </>
      )}
      {sheet.cautions.length > 0 && (
        <>
          <h3>{words.t("sheets.field.cautions")}</h3>
          <ul class="sheet-list">
            {sheet.cautions.map((caution) => (
              <li key={caution}>{caution}</li>
            ))}
          </ul>
        </>
      )}
      {sheet.kinetics !== undefined && <Kinetics kinetics={sheet.kinetics} />}
    </div>
  );
}

/** The sheet prints nothing there. */
function Blank() {
  return <span class="hint">–</span>;
}

/** Figures of the laboratory, as they stand in the file. */
export function Kinetics({ kinetics }: { kinetics: unknown }) {
  const words = useWords();
  return (
    <>
      <h3>{words.t("sheets.field.kinetics")}</h3>
      <p class="hint">{words.t("sheets.kinetics-hint")}</p>
      <pre class="sheet-kinetics">{JSON.stringify(kinetics, null, 2)}</pre>
    </>
  );
}

/** Only what the sheet prints. */
function factsOf(sheet: SheetView, words: Words): [name: string, value: string][] {
  const figure = (value: number | undefined) => value !== undefined && words.t("sheets.figure", { value });
  const { limits = {}, mix = [], spray } = sheet;
  const range = (of: { min?: number | undefined; max?: number | undefined } | undefined, unit: "C" | "%") => {
    const said = (value: number) => (unit === "C" ? words.temperature(value) : `${words.number(value, 0)} %`);
    if (of?.min !== undefined && of.max !== undefined) {
      return words.t("span.temperatures", { from: said(of.min), to: said(of.max) });
    }
    if (of?.min !== undefined) return words.t("limit.at-least", { bound: said(of.min) });
    return of?.max !== undefined && words.t("limit.at-most", { bound: said(of.max) });
  };
  const bar = (value: number) => words.number(value, 1);
  const pressure =
    spray &&
    words.t("sheet.pressure-bar", {
      from: bar(spray.inletPressureBar.from),
      to: bar(spray.inletPressureBar.to),
      limit: bar(spray.inletPressureBar.limit),
    });
  const facts: [TextKey, string | false | undefined][] = [
    ["sheets.field.film.dryUm", figure(sheet.film.dryUm)],
    ["sheets.field.limits.airC", range(limits.airC, "C")],
    ["sheets.field.limits.panelC", range(limits.panelC, "C")],
    ["sheets.field.limits.rhPercent", range(limits.rhPercent, "%")],
    ["sheets.field.mixRatio", sheet.mixRatio],
    [
      "sheets.field.mix",
      mix.length > 0 && mix.map(({ component, parts }) => `${component} ${figure(parts) || ""}`).join(" : "),
    ],
    ["sheets.field.potLifeMinutesAt20C", figure(sheet.potLifeMinutesAt20C)],
    ["sheets.field.coats", sheet.coats],
    ["sheets.field.usualCoats", figure(sheet.usualCoats)],
    ["sheets.field.flashBetweenCoats", sheet.flashBetweenCoats],
    ["sheets.field.spray.nozzleMm", spray?.nozzleMm],
    ["sheets.field.spray.inletPressureBar", pressure],
    ["sheets.field.solidsByVolumePercent", figure(sheet.solidsByVolumePercent)],
    ["sheets.field.squareMetresPerWipe", figure(sheet.squareMetresPerWipe)],
    ["sheets.field.airSpeedMps", figure(sheet.airSpeedMps)],
    ["sheets.field.activationEnergyKJ", figure(sheet.activationEnergyKJ)],
    ["sheets.field.humiditySensitivity", sheet.humiditySensitivity !== 0 && figure(sheet.humiditySensitivity)],
    ["sheets.field.filmExponent", figure(sheet.filmExponent)],
  ];
  return facts.flatMap(([key, value]): [string, string][] =>
    value === undefined || value === false ? [] : [[words.t(key, { at: { celsius: 20 } }), value]],
  );
}

function windowText(
  { for: what, opensAt, closesAfterMinutes, atC, closesAt, ifMissed }: SheetView["windows"][number],
  words: Words,
): string {
  const opens = opensAt === "finish" ? words.t("sheets.opens.finish") : words.named("stage", opensAt);
  const closes =
    closesAfterMinutes === undefined
      ? words.named("stage", closesAt ?? "")
      : words.t(atC === undefined ? "sheets.closes-after" : "sheets.closes-after-at", {
          minutes: closesAfterMinutes,
          ...(atC === undefined ? {} : { at: { celsius: atC } }),
        });
  return words.t("sheets.window", { what, opens, closes, missed: ifMissed });
}
