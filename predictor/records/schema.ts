/** The tables of the records; a file that lacks some gains them on opening. Instants are UTC milliseconds. */
export const recordsSchema = `
  CREATE TABLE IF NOT EXISTS sheets (
    id TEXT NOT NULL, revision INTEGER NOT NULL, sheet TEXT NOT NULL, PRIMARY KEY (id, revision)
  ) STRICT;
  CREATE TABLE IF NOT EXISTS cars (id TEXT PRIMARY KEY, job TEXT NOT NULL, name TEXT NOT NULL) STRICT;
  CREATE TABLE IF NOT EXISTS panels (
    car_id TEXT NOT NULL REFERENCES cars, position INTEGER NOT NULL, name TEXT NOT NULL, substrate TEXT NOT NULL,
    PRIMARY KEY (car_id, name)
  ) STRICT;
  CREATE TABLE IF NOT EXISTS moves (
    car_id TEXT NOT NULL REFERENCES cars, at_ms INTEGER NOT NULL, place TEXT, PRIMARY KEY (car_id, at_ms)
  ) STRICT;
  CREATE TABLE IF NOT EXISTS coats (
    id TEXT PRIMARY KEY, car_id TEXT NOT NULL REFERENCES cars, substrate TEXT NOT NULL,
    sheet_id TEXT NOT NULL, sheet_revision INTEGER NOT NULL,
    finished_at_ms INTEGER NOT NULL, film_um REAL, panel_at_finish_c REAL,
    FOREIGN KEY (sheet_id, sheet_revision) REFERENCES sheets (id, revision)
  ) STRICT;
  CREATE INDEX IF NOT EXISTS coats_by_car ON coats (car_id);
  CREATE TABLE IF NOT EXISTS coat_panels (
    coat_id TEXT NOT NULL REFERENCES coats, panel TEXT NOT NULL, PRIMARY KEY (coat_id, panel)
  ) STRICT;
  CREATE TABLE IF NOT EXISTS corrections (
    coat_id TEXT NOT NULL REFERENCES coats, at_ms INTEGER NOT NULL, reason TEXT NOT NULL,
    field TEXT NOT NULL, was REAL, became REAL NOT NULL
  ) STRICT;
  CREATE TABLE IF NOT EXISTS checks (
    id TEXT PRIMARY KEY, coat_id TEXT NOT NULL REFERENCES coats, stage TEXT NOT NULL, at_ms INTEGER NOT NULL,
    ready INTEGER NOT NULL CHECK (ready IN (0, 1)), how TEXT NOT NULL, who TEXT NOT NULL, note TEXT,
    entered_at_ms INTEGER NOT NULL, withdrawn_at_ms INTEGER, withdrawn_reason TEXT, withdrawn_who TEXT
  ) STRICT;
  CREATE INDEX IF NOT EXISTS checks_by_coat ON checks (coat_id);
  CREATE INDEX IF NOT EXISTS coats_by_sheet ON coats (sheet_id, sheet_revision);
  CREATE TABLE IF NOT EXISTS mixes (
    id TEXT PRIMARY KEY, sheet_id TEXT NOT NULL, sheet_revision INTEGER NOT NULL, place TEXT NOT NULL,
    mixed_at_ms INTEGER NOT NULL, who TEXT, emptied_at_ms INTEGER,
    FOREIGN KEY (sheet_id, sheet_revision) REFERENCES sheets (id, revision)
  ) STRICT;
`;
