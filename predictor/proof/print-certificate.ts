/** A certificate as pages to print: made from its file alone, the same bytes for the same file. */

import { drawCarPage } from "./car-page.ts";
import { type CertificateFile, carFormat, digestOf, readCertificateFile, wordsOfFile } from "./certificate-file.ts";
import { drawCoatPage } from "./coat-page.ts";
import { Paper } from "./paper.ts";

/** A page for each coat, and before those of a car one that sums them up. Throws where the bytes are no certificate. */
export async function printCertificate(bytes: Uint8Array): Promise<Buffer> {
  const read = readCertificateFile(JSON.parse(Buffer.from(bytes).toString()));
  if ("faults" in read) throw new Error(`this is no certificate: ${JSON.stringify(read.faults)}`);
  const { file } = read;
  const digest = digestOf(bytes);
  const words = wordsOfFile(file);
  const paper = new Paper({
    title: `${words.t(titleOf(file))} ${file.car.job}`,
    language: words.language,
    madeAtMs: Date.parse(file.issuedAt),
  });
  if (file.format === carFormat) {
    drawCarPage(paper, file, digest, words);
    for (const coat of file.coats) drawCoatPage(paper, coat, digest, words);
  } else drawCoatPage(paper, file, digest, words);
  return paper.bytes();
}

function titleOf({ format }: CertificateFile): "certificate.title-car" | "certificate.title" {
  return format === carFormat ? "certificate.title-car" : "certificate.title";
}
