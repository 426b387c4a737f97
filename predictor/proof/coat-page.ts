/** One page of a certificate: one coat, from what was sprayed to who vouches for it. */
import type { Words } from "../../words/words.ts";
import type { CoatCertificate } from "./certificate-file.ts";
import { chartHeight, drawChart } from "./draw-chart.ts";
import { contentEnd, drawFoot, drawHead, drawHeading, drawLists, drawTable, type List } from "./page-parts.ts";
import { innerWidth, type Paper, page } from "./paper.ts";

export function drawCoatPage(paper: Paper, certificate: CoatCertificate, digest: string, words: Words): void {
  const { shop, coat, head } = certificate;
  paper.addPage();
  let y = drawHead(paper, certificate, words.t("certificate.title"), words);
  y = drawIdentity(paper, certificate, y, words);
  y = drawState(paper, certificate, y + 2, words);
  const half = innerWidth / 2;
  const left = drawSprayCheck(paper, certificate, page.margin, y + 6, half, words);
  const right = drawFigures(paper, certificate, page.margin + half, y + 6, half, words);
  y = drawStages(paper, certificate, Math.max(left, right) + 4, words);
  drawChart(paper, certificate, y + 6);
  drawLists(paper, y + 6 + chartHeight, contentEnd, listsOf(certificate, words), words);
  drawFoot(paper, { digest, head, address: `${shop.address}/log/${coat.id}` }, words);
}

/** With its mark where it is demo material. */
export function sheetWords({ case: { sheet } }: CoatCertificate, words: Words): string {
  const name = sheet.invented ? `${sheet.name} (${words.t("certificate.invented-sheet")})` : sheet.name;
  return words.t("certificate.sheet-revision", { name, revision: sheet.revision });
}

export function panelWords({ coat }: CoatCertificate, words: Words): string {
  return coat.panels.map((panel) => words.named("panel", panel)).join(", ");
}

/** Released, held, withdrawn, or neither. */
export function stateWords({ coat, verdict }: CoatCertificate, words: Words): string {
  if (coat.withdrawn !== null) {
    const { reason, who, at } = coat.withdrawn;
    return words.t("certificate.state-withdrawn", { reason, who, at: { dateMs: Date.parse(at) } });
  }
  if (verdict === null) return words.t("certificate.state-open");
  const values = { words: verdict.words, who: verdict.who, role: words.named("role", verdict.role) };
  const at = { dateMs: Date.parse(verdict.at) };
  return words.t(verdict.state === "held" ? "certificate.state-held" : "certificate.state-released", { ...values, at });
}

function drawIdentity(paper: Paper, certificate: CoatCertificate, top: number, words: Words): number {
  const { case: input, coat, places, moves, program } = certificate;
  const { sheet } = input;
  const finishedMs = Date.parse(input.coat.finishedAt);
  const place = moves.findLast(({ at }) => Date.parse(at) <= finishedMs)?.place ?? null;
  const where = place === null ? "" : `, ${places[place]?.name ?? place}`;
  const batches = coat.batches.map(({ component, batch }) => `${component} ${batch}`).join(", ");
  const film = { film: words.number(input.coat.filmUm ?? sheet.film.dryUm, 0) };
  const substrate = words.t(`substrate.${input.coat.substrate}`);
  const columns: [string, string][][] = [
    [
      [words.t("certificate.panels"), `${panelWords(certificate, words)} (${substrate})`],
      [words.t("certificate.finished"), `${words.dateTime(finishedMs)}${where}`],
      [words.t("certificate.entered-by"), coat.who],
      [
        words.t("certificate.film"),
        words.t(input.coat.filmUm === undefined ? "certificate.film-sheet" : "certificate.film-given", film),
      ],
    ],
    [
      [words.t("certificate.sheet"), `${sheetWords(certificate, words)}, ${words.named("kind", sheet.kind)}`],
      [words.t("certificate.mix"), sheet.mixRatio ?? words.t("certificate.none")],
      [words.t("certificate.batches"), batches || words.t("certificate.none")],
      [words.t("certificate.program"), program],
    ],
  ];
  const half = innerWidth / 2;
  const labelWidth = 74;
  const ends = columns.map((rows, column) => {
    const x = page.margin + column * half;
    let y = top;
    for (const [label, value] of rows) {
      paper.text(x, y, label, { size: 7.5, grey: true, width: labelWidth - 4 });
      for (const line of paper.lines(value, half - labelWidth - 8, 2)) {
        paper.text(x + labelWidth, y, line);
        y += 10;
      }
      y += 1;
    }
    return y;
  });
  return Math.max(...ends);
}

/** In a frame, so that nobody takes a held coat for a released one. */
function drawState(paper: Paper, certificate: CoatCertificate, y: number, words: Words): number {
  const style = { size: 9, bold: true } as const;
  const lines = paper.lines(stateWords(certificate, words), innerWidth - 12, 2, style);
  const height = lines.length * 11 + 6;
  paper.doc.rect(page.margin, y, innerWidth, height).lineWidth(0.8).stroke("#000000");
  for (const [index, line] of lines.entries()) paper.text(page.margin + 6, y + 4 + index * 11, line, style);
  return y + height;
}

type Limit = NonNullable<CoatCertificate["coat"]["sprayCheck"]>["limits"][number];

/** A value in its unit, and its bounds. */
function quantityWords(what: Limit["what"], words: Words): (value: number) => string {
  if (what === "humidity") return (value) => `${words.number(value, 0)} %`;
  return what === "dew-point margin" ? words.difference : words.temperature;
}

function boundWords(
  { min, max }: { min?: number | null | undefined; max?: number | null | undefined },
  shown: (value: number) => string,
  words: Words,
): string {
  if (min != null && max != null) {
    return words.t("certificate.bounds", { min: shown(min), max: shown(max) });
  }
  if (min != null) return words.t("limit.at-least", { bound: shown(min) });
  return max != null ? words.t("limit.at-most", { bound: shown(max) }) : words.t("limit.no-bound");
}

function drawSprayCheck(
  paper: Paper,
  { coat: { sprayCheck } }: CoatCertificate,
  x: number,
  top: number,
  width: number,
  words: Words,
): number {
  const verdict = sprayCheck === null ? "" : `: ${words.t(verdictKeys[sprayCheck.state])}`;
  const y = drawHeading(paper, x, top, `${words.t("certificate.spray-check")}${verdict}`, width - 8);
  if (sprayCheck === null) {
    paper.text(x, y, words.t("certificate.no-spray-check"), { width: width - 8 });
    return y + 12;
  }
  const columns = [
    { title: "", width: 80 },
    { title: words.t("certificate.value"), width: 42, align: "right" },
    { title: words.t("certificate.limit"), width: 74 },
    { title: "", width: width - 200 },
  ] as const;
  const rows = sprayCheck.limits.map(({ what, value, min, max, state }) => {
    const shown = quantityWords(what, words);
    return [
      words.named("quantity", what),
      value === null ? "–" : shown(value),
      boundWords({ min, max }, shown, words),
      words.t(limitKeys[state]),
    ];
  });
  return drawTable(paper, { x, y, columns, rows });
}

const verdictKeys = {
  spray: "verdict.spray",
  "spray with care": "verdict.spray-with-care",
  "do not spray": "verdict.do-not-spray",
  "no verdict": "verdict.no-verdict",
} as const;
const limitKeys = {
  inside: "certificate.inside",
  close: "certificate.close",
  outside: "certificate.outside",
  "not measured": "limit.not-measured",
} as const;

function drawFigures(
  paper: Paper,
  { figures }: CoatCertificate,
  x: number,
  top: number,
  width: number,
  words: Words,
): number {
  const until = words.t("certificate.cured-until", { until: { dateMs: Date.parse(figures.until) } });
  const y = drawHeading(paper, x, top, until, width);
  const right = { width: 40, align: "right" } as const;
  const columns = [
    { title: "", width: width - 175 },
    { title: words.t("certificate.least"), ...right },
    { title: words.t("certificate.mean"), ...right },
    { title: words.t("certificate.greatest"), ...right },
    { title: words.t("certificate.minutes-outside"), width: 55, align: "right" },
  ] as const;
  const quantities = [
    ["air temperature", figures.airC],
    ["panel temperature", figures.panelC],
    ["humidity", figures.rhPercent],
    ["dew-point margin", figures.dewMarginC],
  ] as const;
  const rows = quantities.map(([what, spread]) => {
    const shown = quantityWords(what, words);
    const name = words.named("quantity", what);
    if (spread === null) return [name, "–", "–", "–", "–"];
    const { min, mean, max, minutesOutside } = spread;
    const outside = minutesOutside === null ? words.t("limit.no-bound") : `${words.number(minutesOutside, 0)} min`;
    return [name, shown(min), shown(mean), shown(max), outside];
  });
  return drawTable(paper, { x, y, columns, rows });
}

function drawStages(paper: Paper, { figures, case: input }: CoatCertificate, top: number, words: Words): number {
  const y = drawHeading(paper, page.margin, top, words.t("certificate.stages"), innerWidth);
  const finishedMs = Date.parse(input.coat.finishedAt);
  const at = (instant: string | null) => (instant === null ? "–" : words.when(Date.parse(instant), finishedMs));
  const each = (innerWidth - 130) / 4;
  const columns = [
    { title: words.t("certificate.stage"), width: 130 },
    { title: words.t("certificate.likely"), width: each },
    { title: words.t("certificate.safe"), width: each },
    { title: words.t("certificate.found-ready"), width: each },
    { title: words.t("certificate.found-not-yet"), width: each },
  ];
  const rows = figures.stages.map(({ stage, likelyAt, safeAt, readyCheckedAt, notYetCheckedAt }) => {
    const name = words.t(`stage.${stage}`);
    const isRelease = stage === figures.releaseStage;
    return [
      isRelease ? words.t("certificate.release-stage", { stage: name }) : name,
      at(likelyAt),
      at(safeAt),
      at(readyCheckedAt),
      at(notYetCheckedAt),
    ];
  });
  return drawTable(paper, { x: page.margin, y, columns, rows });
}

function listsOf(certificate: CoatCertificate, words: Words): List[] {
  const { deviations, notes, windows, corrections, signOffs } = certificate;
  const dated = (at: string) => words.dateTime(Date.parse(at));
  const value = (field: (typeof corrections)[number]["field"], given: string | number | null): string => {
    if (given === null) return words.t("certificate.none");
    if (field === "finishedAt") return dated(String(given));
    return field === "filmUm" ? `${words.number(Number(given), 0)} µm` : String(given);
  };
  return [
    {
      title: words.t("certificate.deviations"),
      none: words.t("certificate.no-deviations"),
      items: deviations.flatMap(({ text, answers }) =>
        answers.length === 0
          ? [`${text} ${words.t("certificate.unanswered")}`]
          : answers.map(
              ({ answer, who, at }) => `${text} ${words.t("certificate.answer", { answer, who, at: dated(at) })}`,
            ),
      ),
    },
    {
      title: words.t("certificate.notes"),
      none: words.t("certificate.no-notes"),
      items: notes.map(({ text, from, to }) => (from === null || to === null ? text : `${dated(from)}: ${text}`)),
    },
    {
      title: words.t("certificate.windows"),
      items: windows.map(({ for: what, opensAt, closesAt, ifMissed }) => {
        const at = (given: string | null) => (given === null ? "–" : dated(given));
        const values = { for: words.named("window", what), opens: at(opensAt), closes: at(closesAt), ifMissed };
        return words.t("certificate.window", values);
      }),
    },
    {
      title: words.t("certificate.corrections"),
      items: corrections.map(({ at, who, reason, field, was, became }) =>
        words.t("certificate.correction", {
          field: words.t(`certificate.field.${field}`),
          was: value(field, was),
          became: value(field, became),
          reason,
          who,
          at: dated(at),
        }),
      ),
    },
    {
      title: words.t("certificate.sign-offs"),
      items: signOffs.toReversed().map(({ meaning, who, role, at }) => {
        const values = { words: meaning, who, role: words.named("role", role), at: { dateMs: Date.parse(at) } };
        return words.t("certificate.sign-off", values);
      }),
    },
  ];
}
