/** Whether a certificate is what this shop's log holds: `npm run -s verify -- FILE [--data FOLDER]`. Reads only; may run while the program does. */
import { readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { parseArgs } from "node:util";
import { readingsFileName, recordsFileName } from "./data-folder.ts";
import { verifyCertificate } from "./proof/verify-certificate.ts";

const usage = `npm run -s verify -- FILE [--data FOLDER]

  FILE           the JSON file of a certificate
  --data FOLDER  the data folder with the shop's log and readings (COATCLOCK_DATA, ./data)`;

process.exitCode = await verifyFile();

/** 0 where all is well, 3 where it is not, 2 for wrong use. */
async function verifyFile(): Promise<number> {
  let file: string;
  let bytes: Buffer;
  let folder: string;
  try {
    const { values, positionals } = parseArgs({ allowPositionals: true, options: { data: { type: "string" } } });
    const [name, ...others] = positionals;
    if (name === undefined || others.length > 0) throw new Error("expected one file");
    file = name;
    folder = resolve(values.data ?? process.env.COATCLOCK_DATA ?? "data");
    bytes = readFileSync(file);
  } catch (error) {
    return refuse(`${(error as Error).message}\n\n${usage}`);
  }
  const files = { records: join(folder, recordsFileName), readings: join(folder, readingsFileName) };
  try {
    const findings = await verifyCertificate(bytes, files);
    for (const { isSound, check, text } of findings) {
      console.log(`${isSound ? "ok   " : "FAULT"}  ${check.padEnd(8)}  ${text}`);
    }
    const faults = findings.filter(({ isSound }) => !isSound).length;
    console.log(`${file}: ${faults === 0 ? "all is well" : "not what this log holds: see docs/certificates.md"}`);
    return faults === 0 ? 0 : 3;
  } catch (error) {
    return refuse(`${folder} can't be read: ${(error as Error).message}. Name the shop's data folder with --data.`);
  }
}

function refuse(what: string): number {
  console.error(what);
  return 2;
}
