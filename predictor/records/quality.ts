/** What the quality lead says of coats: released or held, answers to deviations, certificates. */
import type Database from "better-sqlite3";
import { type Appliers, run } from "./apply.ts";
import { type Coats, type QualityVerdict, refuseWithdrawn } from "./coats.ts";
import type { What } from "./entry-kinds.ts";
import type { By } from "./log.ts";
import { conflict, notFound } from "./record-fault.ts";

/** Why a deviation is acceptable, or what was done about it. */
export interface DeviationAnswer {
  deviation: string;
  answer: string;
  who: string;
  atMs: number;
}

export interface SignOff {
  coatId: string;
  /** In the signer's words: "released for delivery". */
  meaning: string;
  who: string;
  role: By["role"];
  atMs: number;
}

/** That a certificate was issued. */
export interface Certificate {
  /** SHA-256 of its file's bytes. */
  digest: string;
  carId: string;
  coatIds: string[];
  who: string;
  atMs: number;
}

export const qualityTables = `
  CREATE TABLE sign_offs (
    coat_id TEXT NOT NULL REFERENCES coats, meaning TEXT NOT NULL, who TEXT NOT NULL, role TEXT NOT NULL,
    at_ms INTEGER NOT NULL
  ) STRICT;
  CREATE TABLE deviation_answers (
    coat_id TEXT NOT NULL REFERENCES coats, deviation TEXT NOT NULL, answer TEXT NOT NULL, who TEXT NOT NULL,
    at_ms INTEGER NOT NULL
  ) STRICT;
  CREATE INDEX deviation_answers_by_coat ON deviation_answers (coat_id);
  CREATE TABLE certificates (
    digest TEXT PRIMARY KEY, car_id TEXT NOT NULL REFERENCES cars, coat_ids TEXT NOT NULL, who TEXT NOT NULL,
    at_ms INTEGER NOT NULL
  ) STRICT;
`;

type QualityKinds = "coat-signed-off" | "coat-held" | "coat-reopened" | "deviation-answered" | "certificate-issued";

export const qualityAppliers: Appliers<QualityKinds> = {
  "coat-signed-off"(db, { coatId, meaning }, { who, role, atMs }) {
    run(db, "INSERT INTO sign_offs VALUES (?, ?, ?, ?, ?)", coatId, meaning, who, role, atMs);
    setVerdict(db, coatId, { state: "released", words: meaning, who, role, atMs });
  },
  "coat-held"(db, { coatId, reason }, { who, role, atMs }) {
    setVerdict(db, coatId, { state: "held", words: reason, who, role, atMs });
  },
  "coat-reopened"(db, { coatId }) {
    setVerdict(db, coatId, null);
  },
  "deviation-answered"(db, { coatId, deviation, answer }, { who, atMs }) {
    run(db, "INSERT INTO deviation_answers VALUES (?, ?, ?, ?, ?)", coatId, deviation, answer, who, atMs);
  },
  "certificate-issued"(db, { carId, coatIds, digest }, { who, atMs }) {
    // The same bytes, issued once more, are the same certificate.
    const sql = "INSERT INTO certificates VALUES (?, ?, ?, ?, ?) ON CONFLICT DO NOTHING";
    run(db, sql, digest, carId, JSON.stringify(coatIds), who, atMs);
  },
};

function setVerdict(db: Database.Database, coatId: string, verdict: QualityVerdict | null): void {
  run(db, "UPDATE coats SET verdict = ? WHERE id = ?", verdict && JSON.stringify(verdict), coatId);
}

export class Quality {
  readonly #db: Database.Database;
  readonly #coats: Coats;

  constructor(db: Database.Database, coats: Coats) {
    this.#db = db;
    this.#coats = coats;
  }

  /** One that is held must be opened again first. */
  signing(coatId: string, meaning: string): What<"coat-signed-off"> {
    const coat = this.#coats.coat(coatId);
    refuseWithdrawn(coat);
    if (coat.verdict?.state === "held") {
      throw conflict("record-fault.coat-held", { who: coat.verdict.who, reason: coat.verdict.words });
    }
    return { carId: coat.carId, coatId, meaning };
  }

  /** One that was released can be held, too: something may come to light later. */
  holding(coatId: string, reason: string): What<"coat-held"> {
    const coat = this.#coats.coat(coatId);
    refuseWithdrawn(coat);
    return { carId: coat.carId, coatId, reason };
  }

  reopening(coatId: string, reason: string): What<"coat-reopened"> {
    const coat = this.#coats.coat(coatId);
    if (coat.verdict === null) throw conflict("record-fault.coat-open");
    return { carId: coat.carId, coatId, reason };
  }

  answering(coatId: string, deviation: string, answer: string): What<"deviation-answered"> {
    const coat = this.#coats.coat(coatId);
    refuseWithdrawn(coat);
    return { carId: coat.carId, coatId, deviation, answer };
  }

  /** The coats must be the car's. */
  certifying(carId: string, coatIds: readonly string[], digest: string): What<"certificate-issued"> {
    for (const id of coatIds) if (this.#coats.coat(id).carId !== carId) throw notFound("record-fault.no-coat", { id });
    return { carId, coatIds: [...coatIds], digest };
  }

  /** Oldest first. */
  answers(coatId: string): DeviationAnswer[] {
    return this.#db
      .prepare<[string], DeviationAnswer>(
        "SELECT deviation, answer, who, at_ms AS atMs FROM deviation_answers WHERE coat_id = ? ORDER BY rowid",
      )
      .all(coatId);
  }

  /** Null where the log holds no certificate with such bytes. */
  certificate(digest: string): Certificate | null {
    return this.#certificates("WHERE digest = ?", digest)[0] ?? null;
  }

  /** Those that a coat is in, oldest first. */
  certificatesOf(coatId: string): Certificate[] {
    return this.#certificates("WHERE EXISTS (SELECT 1 FROM json_each(coat_ids) WHERE value = ?)", coatId);
  }

  #certificates(where: string, value: string): Certificate[] {
    return this.#db
      .prepare<[string], Omit<Certificate, "coatIds"> & { coatIds: string }>(
        `SELECT digest, car_id AS carId, coat_ids AS coatIds, who, at_ms AS atMs FROM certificates ${where} ORDER BY rowid`,
      )
      .all(value)
      .map((row) => ({ ...row, coatIds: JSON.parse(row.coatIds) as string[] }));
  }

  /** Oldest first. */
  signOffs(coatId: string): SignOff[] {
    return this.#db
      .prepare<[string], SignOff>(
        "SELECT coat_id AS coatId, meaning, who, role, at_ms AS atMs FROM sign_offs WHERE coat_id = ? ORDER BY rowid",
      )
      .all(coatId);
  }
}
