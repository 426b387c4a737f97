/** A sheet that has the right form and does not hold together. */
import type { FaultLine } from "../faults.ts";

export class SheetFault extends Error {
  readonly faults: FaultLine[];

  constructor(faults: FaultLine[]) {
    super(faults.map((fault) => `${fault.path}: expected ${fault.expected}, found ${fault.found}`).join("\n"));
    this.name = "SheetFault";
    this.faults = faults;
  }
}
