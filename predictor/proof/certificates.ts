/** Certificates of a shop: issuing one is an entry of the log, and its file is kept as long as the data folder is. */
import { closeSync, fsyncSync, mkdirSync, openSync, readFileSync, renameSync, rmSync, writeSync } from "node:fs";
import { join } from "node:path";
import { type By, conflict, notFound } from "../records/records.ts";
import { type CertificateFile, certificateBytes, coatsOf, digestOf, readCertificateFile } from "./certificate-file.ts";
import { type CertificateParts, carCertificate, coatCertificate } from "./make-certificate.ts";

/** Where in the data folder the files of certificates are. */
export const certificatesFolderName = "certificates";

export class Certificates {
  readonly #parts: CertificateParts;
  readonly #folder: string;

  /** `dataFolder` must be there; the folder for the files is made with the first of them. */
  constructor(parts: CertificateParts, dataFolder: string) {
    this.#parts = parts;
    this.#folder = join(dataFolder, certificatesFolderName);
  }

  /** Gives the digest of the file's bytes. Throws RecordFault as the making and the entry do; what the disk says goes through. */
  async issueForCoat(coatId: string, by: By): Promise<string> {
    return this.#issue(await coatCertificate(this.#parts, coatId), by);
  }

  async issueForCar(carId: string, by: By): Promise<string> {
    return this.#issue(await carCertificate(this.#parts, carId), by);
  }

  /** The bytes as they were issued. Throws RecordFault where none was, or the file is not what it was. */
  file(digest: string): Buffer {
    if (this.#parts.records.certificate(digest) === null) throw notFound("certificate.unknown", { digest });
    let bytes: Buffer;
    try {
      bytes = readFileSync(this.#pathOf(digest));
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== "ENOENT") throw error;
      throw notFound("certificate.lost", { digest });
    }
    if (digestOf(bytes) !== digest) throw conflict("certificate.damaged", { digest });
    return bytes;
  }

  /** The same as pages to print: a PDF. */
  async print(digest: string): Promise<Buffer> {
    // Loaded for the first print: what makes PDFs would lengthen every start.
    const { printCertificate } = await import("./print-certificate.ts");
    return printCertificate(this.file(digest));
  }

  /** What a download of it is called, without an ending: the job, the panels of a single coat, and the digest's beginning. */
  nameOf(digest: string): string {
    const read = readCertificateFile(JSON.parse(this.file(digest).toString()));
    const words = "faults" in read ? [] : [read.file.car.job, ...panelsOf(read.file)];
    const plain = words.join(" ").replaceAll(/[^\p{L}\p{N}]+/gu, "-");
    return ["certificate", plain.slice(0, 60), digest.slice(0, 8)].join("-").replaceAll(/-{2,}/g, "-");
  }

  #issue(file: CertificateFile, by: By): string {
    const bytes = certificateBytes(file);
    const digest = digestOf(bytes);
    mkdirSync(this.#folder, { recursive: true });
    keep(this.#folder, this.#pathOf(digest), bytes);
    const coatIds = coatsOf(file).map(({ coat }) => coat.id);
    return this.#parts.records.issueCertificate(file.car.id, coatIds, digest, by).digest;
  }

  #pathOf(digest: string): string {
    return join(this.#folder, `${digest}.json`);
  }
}

function panelsOf(file: CertificateFile): string[] {
  return "coat" in file ? file.coat.panels : [];
}

/** On the disk, whole, before it returns. */
function keep(folder: string, path: string, bytes: Buffer): void {
  const unfinished = `${path}.unfinished`;
  try {
    const file = openSync(unfinished, "w", 0o644);
    try {
      for (let written = 0; written < bytes.length; ) written += writeSync(file, bytes, written);
      fsyncSync(file);
    } finally {
      closeSync(file);
    }
    renameSync(unfinished, path);
  } catch (error) {
    rmSync(unfinished, { force: true });
    throw error;
  }
  const handle = openSync(folder, "r");
  try {
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
}
