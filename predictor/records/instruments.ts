/** How the readings of each sensor are corrected, and by which comparison with a reference: now and before. */
import type Database from "better-sqlite3";
import type { Quantity } from "../../collector/readings.ts";
import { type Appliers, run } from "./apply.ts";
import type { What } from "./entry-kinds.ts";

/** One quantity of one sensor. */
export interface SensorLine {
  collector: string;
  sensor: string;
  quantity: Quantity;
}

/** As the shop file has it; null where it says nothing. */
export interface InstrumentSetting {
  /** Corrected = slope × read + offset, in the quantity's unit. */
  slope: number;
  offset: number;
  /** ISO dates. */
  calibrated: string | null;
  due: string | null;
  reference: string | null;
}

export interface InstrumentRecord extends SensorLine {
  /** Oldest first, each with the instant it was entered; the last one holds. There is at least one. */
  history: (InstrumentSetting & { setAtMs: number })[];
}

export const instrumentTables = `
  CREATE TABLE instrument_settings (
    id INTEGER PRIMARY KEY, collector TEXT NOT NULL, sensor TEXT NOT NULL, quantity TEXT NOT NULL, slope REAL NOT NULL,
    shift REAL NOT NULL, calibrated TEXT, due TEXT, reference TEXT, set_at_ms INTEGER NOT NULL
  ) STRICT;
`;

export const instrumentAppliers: Appliers<"instrument-set"> = {
  "instrument-set"(db, { collector, sensor, quantity, slope, offset, calibrated, due, reference }, { atMs }) {
    const values = [collector, sensor, quantity, slope, offset, calibrated, due, reference, atMs];
    run(db, "INSERT INTO instrument_settings VALUES (NULL, ?, ?, ?, ?, ?, ?, ?, ?, ?)", ...values);
  },
};

type Row = SensorLine & InstrumentSetting & { setAtMs: number };

export class Instruments {
  readonly #db: Database.Database;

  constructor(db: Database.Database) {
    this.#db = db;
  }

  /** What is entered of a line's setting; null where the newest one says the same. */
  setting({ collector, sensor, quantity }: SensorLine, setting: InstrumentSetting): What<"instrument-set"> | null {
    const { slope, offset, calibrated, due, reference } = setting;
    const newest = this.#rows("WHERE collector = ? AND sensor = ? AND quantity = ?", collector, sensor, quantity).at(
      -1,
    );
    const isKnown =
      newest !== undefined &&
      newest.slope === slope &&
      newest.offset === offset &&
      newest.calibrated === calibrated &&
      newest.due === due &&
      newest.reference === reference;
    return isKnown ? null : { collector, sensor, quantity, slope, offset, calibrated, due, reference };
  }

  all(): InstrumentRecord[] {
    const records = new Map<string, InstrumentRecord>();
    for (const { collector, sensor, quantity, ...setting } of this.#rows("")) {
      const key = `${collector}/${sensor}/${quantity}`;
      const record = records.get(key) ?? { collector, sensor, quantity, history: [] };
      record.history.push(setting);
      records.set(key, record);
    }
    return [...records.values()];
  }

  #rows(where: string, ...values: string[]): Row[] {
    return this.#db
      .prepare<string[], Row>(
        `SELECT collector, sensor, quantity, slope, shift AS "offset", calibrated, due, reference, set_at_ms AS setAtMs
         FROM instrument_settings ${where} ORDER BY id`,
      )
      .all(...values);
  }
}
