/** The first page of a car's certificate: its coats in one table. */
import type { Words } from "../../words/words.ts";
import type { CarCertificate, CoatCertificate } from "./certificate-file.ts";
import { panelWords, sheetWords, stateWords } from "./coat-page.ts";
import { contentEnd, drawFoot, drawHead, drawHeading, lineHeight } from "./page-parts.ts";
import { innerWidth, type Paper, page } from "./paper.ts";

const coatHeight = 4 * lineHeight + 8;

export function drawCarPage(paper: Paper, certificate: CarCertificate, digest: string, words: Words): void {
  const { coats, shop, car } = certificate;
  paper.addPage();
  let y = drawHead(paper, certificate, words.t("certificate.title-car"), words);
  y = drawHeading(paper, page.margin, y + 4, words.t("certificate.coats", { count: coats.length }), innerWidth);
  const fit = Math.floor((contentEnd - y - lineHeight) / coatHeight);
  for (const coat of coats.slice(0, fit)) {
    drawCoat(paper, coat, y, words);
    y += coatHeight;
  }
  if (coats.length > fit) {
    paper.text(page.margin, y, words.t("certificate.more", { count: coats.length - fit }), { width: innerWidth });
  }
  const last = coats.reduce((latest, { head }) => (head.seq > latest.seq ? head : latest), { seq: 0, hash: "" });
  drawFoot(paper, { digest, head: last, address: `${shop.address}/cars/${car.id}` }, words);
}

function drawCoat(paper: Paper, certificate: CoatCertificate, top: number, words: Words): void {
  const { case: input, figures, deviations } = certificate;
  const finishedMs = Date.parse(input.coat.finishedAt);
  const safeAt = figures.stages.find(({ stage }) => stage === figures.releaseStage)?.safeAt ?? null;
  const stage = words.t(`stage.${figures.releaseStage}`);
  const open = deviations.filter(({ answers }) => answers.length === 0).length;
  const lines = [
    `${words.named("kind", input.sheet.kind)}: ${sheetWords(certificate, words)}`,
    `${words.t("certificate.finished")} ${words.dateTime(finishedMs)} · ${
      safeAt === null
        ? words.t("certificate.never-safe", { stage })
        : words.t("certificate.safe-at", { stage, at: { dateMs: Date.parse(safeAt) } })
    } · ${words.t("certificate.deviation-count", { count: deviations.length, open })}`,
    stateWords(certificate, words),
  ];
  paper.text(page.margin, top, panelWords(certificate, words), { size: 9, bold: true, width: innerWidth });
  for (const [index, line] of lines.entries()) {
    paper.text(page.margin + 8, top + 12 + index * lineHeight, line, { width: innerWidth - 8 });
  }
  paper.line(
    [
      [page.margin, top + coatHeight - 5],
      [page.margin + innerWidth, top + coatHeight - 5],
    ],
    { width: 0.3, grey: "#999999" },
  );
}
