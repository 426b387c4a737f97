/** What a collector of the soak noted of each reading before its agent got it, and how that is read again. */
import { closeSync, createReadStream, existsSync, fdatasyncSync, openSync, writeSync } from "node:fs";
import { createInterface } from "node:readline";
import type { Quantity } from "../../collector/readings.ts";
import type { Measurement } from "../../collector/sources/source.ts";

interface Line {
  atMs: number;
  sensor: string;
  values: [Quantity, number][];
}

/** One that a process wrote about its own start or its last reading. */
type Mark = "begin" | "end";

/** Each note is on the disk when its method returns. */
export class TallyWriter {
  readonly #file: number;

  constructor(file: string) {
    this.#file = openSync(file, "a");
    // Ends a line that a kill has torn.
    this.#write(`\n"begin"\n`);
  }

  /** To be called before an outbox can know of them; the next call says that these were taken. */
  note(atMs: number, measured: readonly Measurement[][]): void {
    const lines = measured.flatMap((readings) => {
      const sensor = readings[0]?.sensor;
      if (sensor === undefined) return [];
      const line: Line = { atMs, sensor, values: readings.map(({ quantity, value }) => [quantity, value]) };
      return [`${JSON.stringify(line)}\n`];
    });
    if (lines.length > 0) this.#write(lines.join(""));
  }

  end(): void {
    this.#write(`"end"\n`);
    closeSync(this.#file);
  }

  #write(text: string): void {
    writeSync(this.#file, text);
    fdatasyncSync(this.#file);
  }
}

export interface Noted {
  atMs: number;
  sensor: string;
  quantity: Quantity;
  value: number;
  /** The process was killed after this note and before the next: nobody can say whether the outbox had got it. */
  isInDoubt: boolean;
}

/** All readings of a tally, in order. */
export async function* notedIn(file: string): AsyncGenerator<Noted> {
  if (!existsSync(file)) return;
  // Those of the last instant, until it is known what came after them.
  let last: Line[] = [];
  for await (const text of createInterface({ input: createReadStream(file) })) {
    const line = lineOf(text);
    if (line === null) continue;
    const isMark = line === "begin" || line === "end";
    if (!isMark && line.atMs === last[0]?.atMs) {
      last.push(line);
      continue;
    }
    yield* readingsOf(last, line === "begin");
    last = isMark ? [] : [line];
  }
  yield* readingsOf(last, true);
}

function* readingsOf(lines: readonly Line[], isInDoubt: boolean): Generator<Noted> {
  for (const { atMs, sensor, values } of lines) {
    for (const [quantity, value] of values) yield { atMs, sensor, quantity, value, isInDoubt };
  }
}

/** Null for one that was torn: its readings had not been handed on. */
function lineOf(text: string): Line | Mark | null {
  try {
    return JSON.parse(text) as Line | Mark;
  } catch {
    return null;
  }
}
