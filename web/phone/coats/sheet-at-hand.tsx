/** What a painter looks up on the sheet with the gun in the hand. */
import type { SheetView } from "../../../predictor/serve/api.ts";
import type { Words } from "../../../words/words.ts";
import { boundsWords } from "../../parts/limit-words.ts";
import { useWords } from "../../parts/words-context.ts";

export function SheetAtHand({ sheet }: { sheet: SheetView }) {
  const words = useWords();
  return (
    <section class="kept">
      <h2>{words.t("sheet.at-hand")}</h2>
      <dl class="facts">
        {factsOf(sheet, words).map(([name, value]) => (
          <div key={name}>
            <dt>{name}</dt>
            <dd>{value}</dd>
          </div>
        ))}
      </dl>
      <p class="hint">{`${sheet.name}, ${words.t("sheet.revision", { revision: sheet.revision })}`}</p>
    </section>
  );
}

/** Only what the sheet prints. */
function factsOf(sheet: SheetView, words: Words): [name: string, value: string][] {
  const { coats, flashBetweenCoats, mixRatio, spray, potLifeMinutesAt20C, film, limits = {} } = sheet;
  const limitsOf = [
    ["air temperature", limits.airC],
    ["panel temperature", limits.panelC],
    ["humidity", limits.rhPercent],
  ] as const;
  const bar = (value: number) => words.number(value, 1);
  const facts: [string, string | undefined][] = [
    [words.t("sheet.coats"), coats],
    [words.t("sheet.flash"), flashBetweenCoats],
    [words.t("sheet.mix"), mixRatio],
    [words.t("sheet.nozzle"), spray && `${spray.nozzleMm} mm`],
    [
      words.t("sheet.pressure"),
      spray &&
        words.t("sheet.pressure-bar", {
          from: bar(spray.inletPressureBar.from),
          to: bar(spray.inletPressureBar.to),
          limit: bar(spray.inletPressureBar.limit),
        }),
    ],
    [
      words.t("sheet.pot-life"),
      potLifeMinutesAt20C === undefined
        ? undefined
        : words.t("sheet.pot-life-at", { minutes: potLifeMinutesAt20C, at: { celsius: 20 } }),
    ],
    [words.t("sheet.film"), `${words.number(film.dryUm, 0)} µm`],
    ...limitsOf.map(([what, bounds]): [string, string | undefined] => [
      words.t("sheet.to-spray", { what: { prefix: "quantity", name: what } }),
      bounds && boundsWords(what, bounds.min ?? null, bounds.max ?? null, words),
    ]),
  ];
  return facts.flatMap(([name, value]): [string, string][] => (value === undefined ? [] : [[name, value]]));
}
