/** Something that can't be recorded as asked; the message names it and the remedy. `kind` tells not found from not fitting. */
export class RecordFault extends Error {
  readonly kind: "not-found" | "conflict";

  constructor(kind: "not-found" | "conflict", message: string) {
    super(message);
    this.name = "RecordFault";
    this.kind = kind;
  }
}

/** An instant (UTC milliseconds) as the messages of faults say it. */
export const iso = (ms: number): string => new Date(ms).toISOString();
