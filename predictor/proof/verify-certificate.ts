/** Whether a certificate is what a shop's log and readings say: each of its parts is held against them by itself. */
import Database from "better-sqlite3";
import { type CaseReading, caseReading, runCase } from "../cure/case.ts";
import { sheetSchema } from "../cure/sheet.ts";
import { gapMs } from "../follow/merge.ts";
import { carHistory, type Stay, seriesOf, staysFrom } from "../follow/place-history.ts";
import { openSqliteSource } from "../readings/sqlite.ts";
import { chainRows, checkChain } from "../records/chain.ts";
import { canonical, concernsCoat, hashOf, type LogEntry } from "../records/log.ts";
import {
  type CertificateFile,
  type CoatCertificate,
  coatsOf,
  digestOf,
  isCertificate,
  readCertificateFile,
} from "./certificate-file.ts";

export interface Finding {
  /** What was looked at. */
  check: "form" | "digest" | "chain" | "entries" | "sheet" | "readings" | "outcome";
  isSound: boolean;
  /** A sentence in English: what was found. */
  text: string;
}

export interface VerifyFiles {
  records: string;
  /** May be missing: then no reading is compared. */
  readings: string;
}

/** Changes nothing, and may be asked while the program runs. Throws where the records can't be read. */
export async function verifyCertificate(bytes: Uint8Array, files: VerifyFiles): Promise<Finding[]> {
  const digest = digestOf(bytes);
  const { input, file, findings } = read(bytes);
  const log = readLog(files.records, file);
  findings.push(digestFinding(digest, input, file, log));
  const fault = log.faults[0];
  findings.push(
    fault === undefined
      ? sound("chain", `the log is sound: ${log.entries} entries, each bound to the one before`)
      : unsound("chain", `the log itself is not what was entered: ${fault}`),
  );
  if (file === null) return findings;
  const store = openReadings(files.readings);
  try {
    for (const coat of coatsOf(file)) {
      const found = [headFinding(coat, log), entriesFinding(coat, log), sheetFinding(coat, log)];
      found.push(await readingsFinding(coat, store), outcomeFinding(coat));
      const name = coat.coat.panels.join(", ");
      findings.push(...found.map((finding) => ({ ...finding, text: `${name}: ${finding.text}` })));
    }
  } finally {
    await store?.close();
  }
  return findings;
}

const sound = (check: Finding["check"], text: string): Finding => ({ check, isSound: true, text });
const unsound = (check: Finding["check"], text: string): Finding => ({ check, isSound: false, text });

function read(bytes: Uint8Array): { input: unknown; file: CertificateFile | null; findings: Finding[] } {
  let input: unknown = null;
  try {
    input = JSON.parse(new TextDecoder("utf-8", { fatal: true }).decode(bytes));
  } catch (error) {
    return { input, file: null, findings: [unsound("form", `it is no readable JSON: ${(error as Error).message}`)] };
  }
  if (!isCertificate(input)) {
    return { input, file: null, findings: [unsound("form", "it does not say that it is a certificate")] };
  }
  const answer = readCertificateFile(input);
  if ("file" in answer) return { input, file: answer.file, findings: [] };
  const [first, ...more] = answer.faults;
  const others = more.length === 0 ? "" : `, and ${more.length} more`;
  const text = `${first?.path || "the whole"}: expected ${first?.expected}, found ${first?.found}${others}`;
  return { input, file: null, findings: [unsound("form", text)] };
}

/** What of a log a certificate is held against. */
interface ReadLog {
  entries: number;
  faults: string[];
  /** By `seq`, of all of them. */
  hashes: Map<number, string>;
  issued: Extract<LogEntry, { kind: "certificate-issued" }>[];
  sheets: Extract<LogEntry, { kind: "sheet-kept" }>[];
  /** Of the certificate's car. */
  ofCar: LogEntry[];
}

function readLog(path: string, file: CertificateFile | null): ReadLog {
  const log: ReadLog = { entries: 0, faults: [], hashes: new Map(), issued: [], sheets: [], ofCar: [] };
  const db = new Database(path, { readonly: true, fileMustExist: true });
  try {
    // One transaction, so that what is entered meanwhile is not half seen.
    db.transaction(() => {
      for (const { seq, hash, entry, faults } of checkChain(chainRows(db))) {
        log.entries += 1;
        log.faults.push(...faults);
        log.hashes.set(seq, hash);
        if (entry === null) continue;
        if (entry.kind === "certificate-issued") log.issued.push(entry);
        if (entry.kind === "sheet-kept") log.sheets.push(entry);
        if ("carId" in entry.what && entry.what.carId === file?.car.id) log.ofCar.push(entry);
      }
    })();
  } finally {
    db.close();
  }
  return log;
}

function digestFinding(digest: string, input: unknown, file: CertificateFile | null, { issued }: ReadLog): Finding {
  const entry = issued.find(({ what }) => what.digest === digest);
  if (entry !== undefined) {
    return sound("digest", `issued by ${entry.who} on ${entry.at}, entry ${entry.seq}: the bytes are those`);
  }
  const sameContent = input === null ? undefined : digestOf(Buffer.from(canonical(input)));
  if (issued.some(({ what }) => what.digest === sameContent)) {
    return unsound("digest", "a byte was changed: the content is what was issued here, but it was written anew");
  }
  const ids = file === null ? [] : coatsOf(file).map(({ coat }) => coat.id);
  const others = issued.filter(({ what }) => ids.length > 0 && what.coatIds.join() === ids.join());
  if (others.length === 0) return unsound("digest", "this log holds no such certificate");
  const known = others.map(({ seq, what }) => `entry ${seq} ${what.digest}`).join(", ");
  return unsound("digest", `a byte was changed: its bytes have ${digest}; of the same coats there are: ${known}`);
}

function headFinding({ head }: CoatCertificate, { hashes }: ReadLog): Finding {
  const here = hashes.get(head.seq);
  if (here === head.hash) return sound("chain", `the log's head at its issue, entry ${head.seq}, is on the chain`);
  return unsound(
    "chain",
    `the log's head at its issue, entry ${head.seq}, is ${here === undefined ? "not in this log" : "another entry here"}`,
  );
}

/** Each has its hash and stands in the log, and none that the log had then is left out. */
function entriesFinding({ coat, entries, head }: CoatCertificate, { hashes, ofCar }: ReadLog): Finding {
  for (const { hash, ...content } of entries) {
    if (hashOf(canonical(content)) !== hash) return unsound("entries", `entry ${content.seq} does not have its hash`);
    if (hashes.get(content.seq) !== hash) return unsound("entries", `entry ${content.seq} is not in this log`);
  }
  const missing = ofCar.find(
    (entry) => entry.seq <= head.seq && concernsCoat(entry, coat.id) && !entries.some(({ seq }) => seq === entry.seq),
  );
  if (missing !== undefined) return unsound("entries", `entry ${missing.seq}, ${missing.kind}, is left out`);
  return sound("entries", `${entries.length} entries have their hashes and stand in the log; none is left out`);
}

function sheetFinding({ case: { sheet } }: CoatCertificate, { sheets }: ReadLog): Finding {
  const kept = sheets.find(({ what }) => what.sheet.id === sheet.id && what.sheet.revision === sheet.revision);
  const name = `sheet ${sheet.id} revision ${sheet.revision}`;
  if (kept === undefined) return unsound("sheet", `${name} is not in this log`);
  const isSame = canonical(sheetSchema.parse(kept.what.sheet)) === canonical(sheet);
  return isSame
    ? sound("sheet", `${name} is as entry ${kept.seq} has it`)
    : unsound("sheet", `${name} is not as entry ${kept.seq} has it`);
}

function outcomeFinding({ case: input, outcome }: CoatCertificate): Finding {
  const again = runCase(input);
  if ("faults" in again) return unsound("outcome", `it can't be reckoned again: ${again.faults[0]?.path}`);
  return canonical(again.result) === canonical(outcome)
    ? sound("outcome", "reckoned again from its readings and sheet, the outcome is the same")
    : unsound("outcome", "reckoned again from its readings and sheet, the outcome is another");
}

type OpenStore = ReturnType<typeof openSqliteSource>;

/** Null where there is no such file. */
function openReadings(path: string): OpenStore | null {
  try {
    return openSqliteSource(path);
  } catch (error) {
    if ((error as { code?: unknown }).code === "SQLITE_CANTOPEN") return null;
    throw error;
  }
}

/** Readings are compared from where each of a place's sensors still has one on; those before are gone from the store. */
async function readingsFinding(certificate: CoatCertificate, store: OpenStore | null): Promise<Finding> {
  const { case: input, moves, places } = certificate;
  const { readings } = input;
  const total = readings.length;
  if (total === 0) return sound("readings", "it rests on no readings");
  if (store === null) return sound("readings", `0 of ${total} readings could be compared: there is no store here`);
  const atMoves = moves.map(({ at, place, who }) => ({ atMs: Date.parse(at), place, who }));
  const stays = staysFrom(atMoves, Date.parse(input.coat.finishedAt));
  const knownFrom = await Promise.all(stays.map((stay) => knownFromMs(store, places, stay)));
  const history = await carHistory(store, places, stays);
  const lastMs = Date.parse(readings.at(-1)?.at ?? "");
  const here = history.readings.filter(({ atMs }) => atMs <= lastMs).map(caseReading);
  const keyed = (list: readonly CaseReading[]) => {
    const byInstant = new Map<string, string[]>();
    for (const reading of list) {
      const key = new Date(reading.at).toISOString();
      // Which reading was the first in a place is no measurement, and goes with the moves.
      const { movedIn: _, ...values } = reading;
      byInstant.set(key, [...(byInstant.get(key) ?? []), canonical(values)]);
    }
    return byInstant;
  };
  const [ofStore, ofFile] = [keyed(here), keyed(readings)];
  let compared = 0;
  for (const [at, known] of ofFile) {
    if (!isKnown(Date.parse(at), stays, knownFrom)) continue;
    const stored = ofStore.get(at) ?? [];
    const index = known.findIndex((reading) => !stored.includes(reading));
    if (index >= 0) {
      const found = stored.length === 0 ? "none" : stored.join(" and ");
      return unsound("readings", `the reading at ${at} is ${known[index]}; the store has ${found}`);
    }
    compared += known.length;
  }
  const added = [...ofStore.keys()].filter((at) => !ofFile.has(at)).length;
  const late = added === 0 ? "" : `; the store has ${added} more of that time, which came after it was issued`;
  return sound("readings", `${compared} of ${total} readings could be compared, and are those in the store${late}`);
}

/** From when on the store has all that tells of a place; infinite where it has nothing of its air. A sensor that never sent is not waited for. */
async function knownFromMs(store: OpenStore, places: CoatCertificate["places"], stay: Stay): Promise<number> {
  const place = places[stay.place];
  if (place === undefined) return Number.POSITIVE_INFINITY;
  const firsts = await Promise.all(
    seriesOf(place).map(async (series) => {
      const before = await store.latest(series, stay.fromMs - gapMs);
      if (before !== undefined) return Number.NEGATIVE_INFINITY;
      const [first] = await store.range(series, stay.fromMs - gapMs, stay.toMs);
      const never = series.quantity === "air-temperature" ? Number.POSITIVE_INFINITY : Number.NEGATIVE_INFINITY;
      return first?.atMs ?? never;
    }),
  );
  return Math.max(...firsts);
}

/** At a move the old place's last reading is held: both places must be known. */
function isKnown(atMs: number, stays: readonly Stay[], knownFrom: readonly number[]): boolean {
  const index = Math.max(
    0,
    stays.findLastIndex(({ fromMs }) => fromMs <= atMs),
  );
  const concerned = stays[index]?.fromMs === atMs ? [index - 1, index] : [index];
  return concerned.every((each) => each < 0 || atMs >= (knownFrom[each] ?? Number.POSITIVE_INFINITY));
}
