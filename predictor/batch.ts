/** The cure model over one case, without a server: `npm run -s predict -- FILE`, or `-` for standard input. A certificate's file is taken for the case in it. */
import { readFileSync } from "node:fs";
import { runCase } from "./cure/case.ts";
import { coatsOf, isCertificate, readCertificateFile } from "./proof/certificate-file.ts";

process.exitCode = predict(process.argv[2], process.argv[3]);

/** Reads, runs and prints; the exit code is 0 with a result and 2, with a line for each fault, without. */
function predict(file: string | undefined, coat: string | undefined): number {
  if (file === undefined)
    return refuse(["expected a file's name, or - for standard input: npm run -s predict -- FILE [COAT]"]);
  const name = file === "-" ? "standard input" : file;
  let input: unknown;
  try {
    input = JSON.parse(readFileSync(file === "-" ? 0 : file, "utf8"));
  } catch (error) {
    return refuse([`${name}: expected readable JSON, found ${error instanceof Error ? error.message : String(error)}`]);
  }
  if (isCertificate(input)) return predictCertificate(name, input, coat);
  if (coat !== undefined) return refuse([`${name}: expected no coat beside a case, found ${coat}`]);
  return print(name, input);
}

/** The certificate of a car has a case for each coat: one must be named, unless there is but one. */
function predictCertificate(name: string, input: unknown, coat: string | undefined): number {
  const read = readCertificateFile(input);
  if ("faults" in read) return refuse(read.faults.map((fault) => line(name, fault, "the certificate")));
  const coats = coatsOf(read.file);
  const chosen = coat === undefined ? coats : coats.filter((each) => each.coat.id === coat);
  const [only, ...others] = chosen;
  if (only !== undefined && others.length === 0) return print(name, only.case);
  return refuse([
    `${name}: expected the id of one of its coats after the file's name, found ${coat ?? "none"}; it has:`,
    ...coats.map((each) => `  ${each.coat.id}  ${each.coat.panels.join(", ")}, ${each.case.sheet.name}`),
  ]);
}

function print(name: string, input: unknown): number {
  const answer = runCase(input);
  if ("faults" in answer) return refuse(answer.faults.map((fault) => line(name, fault, "the case")));
  process.stdout.write(`${JSON.stringify(answer.result, null, 2)}\n`);
  return 0;
}

function line(name: string, fault: { path: string; expected: string; found: string }, whole: string): string {
  return `${name}: ${fault.path || whole}: expected ${fault.expected}, found ${fault.found}`;
}

function refuse(lines: string[]): number {
  process.stderr.write(`${lines.join("\n")}\n`);
  return 2;
}
