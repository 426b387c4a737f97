/** What can be asked for on the command line. */
import { parseArgs } from "node:util";
import { DateTime } from "luxon";

/** Something the person at the keyboard can put right: told without a stack. */
export class UsageFault extends Error {}

export const parts = ["collector", "predictor", "lamp"] as const;
export type Part = (typeof parts)[number];

export interface RunOptions {
  task: "run";
  shop?: string;
  only?: Part;
  /** Names given with --collector and --lamp; all, or those that do not run elsewhere, where empty. */
  collectors: string[];
  lamps: string[];
}

export type Options =
  | RunOptions
  /** A head office, or one more intake beside it. */
  | { task: "run-group"; group: string; isIntakeOnly: boolean }
  | { task: "help" }
  | { task: "find-sensors" }
  | { task: "add-collector"; shop: string; collector: string }
  | { task: "new-pin"; person: string; asInstaller: boolean }
  | { task: "verify"; witnessed?: { seq: number; hash: string }; rebuild: boolean }
  | { task: "export"; folder: string; shop?: string; fromMs: number; toMs: number }
  | { task: "copy-readings"; shop: string; to: StoreKind };

/** Where readings can be kept. */
export type StoreKind = "sqlite" | "influx";

export const usage = `npm start -- [--shop FILE] [--only PART] [--collector NAME …] [--lamp NAME …]
npm start -- --group FILE [--only intake]
npm start -- --find-sensors
npm start -- --shop FILE --add-collector NAME
npm start -- --new-pin NAME | --new-installer NAME
npm start -- --verify [--witness SEQ:HASH] [--rebuild]
npm start -- --export FOLDER [--shop FILE] [--from INSTANT] [--to INSTANT]
npm start -- --shop FILE --copy-readings sqlite influx

  --shop FILE           the shop file; without one, an invented shop rehearses
  --only PART           start only one part: collector, predictor or lamp
  --group FILE          the group file: a head office for many shops, which holds what they tell it
  --only intake         with --group: one more process that takes readings in, beside the head office
  --collector NAME      with --only collector: which of the shop file's collectors run here (all, unless named)
  --lamp NAME           with --only lamp: which of the shop file's lamps run here (all, unless named)
  --find-sensors        list what is attached to this machine, with the lines for the shop file
  --add-collector NAME  make a name and password for a collector on another machine, and show what to write there
  --new-pin NAME        make a PIN to hand over to someone who has forgotten theirs
  --new-installer NAME  make someone an installer, with a PIN to hand over: when none is left who could
  --verify              check the records: every entry's hash, the chain, and that the tables say what the log says
  --witness SEQ:HASH    with --verify: an entry as another machine has kept it
  --rebuild             with --verify: make the tables anew from a log that is sound
  --export FOLDER       write records and readings in open forms (JSON Lines, CSV, YAML, SenML) into an empty folder
  --copy-readings A B   copy all readings from sqlite to influx, or from influx to sqlite, and compare what both hold then
  --from, --to INSTANT  with --export: readings from one instant to before another, as 2026-03-02 or 2026-03-02T08:00Z

  COATCLOCK_PORT        where the pages are served (the shop file's ports.http, 8080 unless set)
  COATCLOCK_DATA        folder of the records, the readings and what waits for its receipt (./data)
  COATCLOCK_LOG         log level: trace, debug, info, warn, error, silent (info)`;

/** Throws UsageFault for what does not fit. */
export function commandLine(): Options {
  const { values, positionals: others } = parsed();
  const { shop, only, help } = values;
  const collectors = values.collector ?? [];
  const lamps = values.lamp ?? [];
  if (help === true) return { task: "help" };
  if (values["find-sensors"] === true) return { task: "find-sensors" };
  const collector = values["add-collector"];
  if (collector !== undefined) {
    if (shop === undefined) throw misuse("--add-collector needs a shop file: --shop FILE");
    return { task: "add-collector", shop, collector };
  }
  const person = values["new-pin"] ?? values["new-installer"];
  if (person !== undefined) return { task: "new-pin", person, asInstaller: values["new-pin"] === undefined };
  const { verify, witness, rebuild = false } = values;
  if (verify === true) {
    return { task: "verify", rebuild, ...(witness === undefined ? {} : { witnessed: witnessedFrom(witness) }) };
  }
  if (witness !== undefined || rebuild) throw misuse("--witness and --rebuild go with --verify");
  const copyFrom = values["copy-readings"];
  if (copyFrom !== undefined) {
    if (shop === undefined) throw misuse("--copy-readings needs a shop file: --shop FILE");
    const route = [copyFrom, ...others].join(" ");
    if (route === "sqlite influx") return { task: "copy-readings", shop, to: "influx" };
    if (route === "influx sqlite") return { task: "copy-readings", shop, to: "sqlite" };
    throw misuse(`--copy-readings ${route}: expected sqlite influx, or influx sqlite`);
  }
  if (others.length > 0) throw misuse(`what is ${others.join(" ")}?`);
  const { export: folder, from, to } = values;
  if (folder !== undefined) {
    const fromMs = instantFrom("--from", from) ?? Number.NEGATIVE_INFINITY;
    const toMs = instantFrom("--to", to) ?? Number.POSITIVE_INFINITY;
    if (!(fromMs < toMs)) throw misuse("--from must lie before --to");
    return { task: "export", folder, fromMs, toMs, ...(shop === undefined ? {} : { shop }) };
  }
  if (from !== undefined || to !== undefined) throw misuse("--from and --to go with --export");
  const { group } = values;
  if (group !== undefined) {
    if (shop !== undefined) throw misuse("--group and --shop are two programs: start each by itself");
    if (collectors.length > 0 || lamps.length > 0) throw misuse("--collector and --lamp do not go with --group");
    if (only !== undefined && only !== "intake") throw misuse(`--only ${only}: expected intake with --group`);
    return { task: "run-group", group, isIntakeOnly: only === "intake" };
  }
  if (only !== undefined && !isPart(only)) throw misuse(`--only ${only}: expected ${parts.join(" or ")}`);
  if (collectors.length > 0 && only !== "collector") throw misuse("--collector goes with --only collector");
  if (lamps.length > 0 && only !== "lamp") throw misuse("--lamp goes with --only lamp");
  if (only !== undefined && shop === undefined) throw misuse("--only needs a shop file: --shop FILE");
  return {
    task: "run",
    ...(shop === undefined ? {} : { shop }),
    ...(only === undefined ? {} : { only }),
    collectors,
    lamps,
  };
}

function parsed() {
  try {
    return parseArgs({
      // The second word of --copy-readings.
      allowPositionals: true,
      options: {
        shop: { type: "string" },
        group: { type: "string" },
        only: { type: "string" },
        collector: { type: "string", multiple: true },
        lamp: { type: "string", multiple: true },
        "find-sensors": { type: "boolean" },
        "add-collector": { type: "string" },
        "new-pin": { type: "string" },
        "new-installer": { type: "string" },
        verify: { type: "boolean" },
        witness: { type: "string" },
        rebuild: { type: "boolean" },
        "copy-readings": { type: "string" },
        export: { type: "string" },
        from: { type: "string" },
        to: { type: "string" },
        help: { type: "boolean", short: "h" },
      },
    });
  } catch (error) {
    throw misuse((error as Error).message);
  }
}

/** As docs/records.md has it kept: the entry's number and its hash. */
function witnessedFrom(text: string): { seq: number; hash: string } {
  const [, seq, hash] = /^(\d{1,12}):([0-9a-f]{64})$/.exec(text) ?? [];
  if (seq === undefined || hash === undefined) {
    throw misuse(`--witness ${text}: expected an entry's number, a colon and its hash of 64 digits 0-9 a-f`);
  }
  return { seq: Number(seq), hash };
}

/** ISO 8601, in UTC unless it says otherwise. */
function instantFrom(option: string, text: string | undefined): number | undefined {
  if (text === undefined) return undefined;
  const instant = DateTime.fromISO(text, { zone: "utc" });
  if (!instant.isValid) throw misuse(`${option} ${text}: expected a date such as 2026-03-02, or 2026-03-02T08:00Z`);
  return instant.toMillis();
}

function isPart(text: string): text is Part {
  return parts.some((part) => part === text);
}

function misuse(what: string): UsageFault {
  return new UsageFault(`${what}\n\n${usage}`);
}
