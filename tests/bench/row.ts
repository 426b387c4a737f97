/** One measured figure beside its floor, both from the same run on the same machine. */
export interface BenchRow {
  name: string;
  /** What the floor is: the same work with nothing of ours around it. */
  floor: string;
  floorValue: number;
  value: number;
  unit: string;
  /** value ÷ floorValue */
  ratio: number;
  /** The ratio to reach, in words: "≤ 8 × the floor". */
  budget: string;
  within: boolean;
}

/** A row whose value should be at most (`most`) or at least (`least`) so many times its floor. */
export function benchRow(
  row: Pick<BenchRow, "name" | "floor" | "floorValue" | "value" | "unit">,
  bound: { most: number } | { least: number },
): BenchRow {
  const ratio = row.value / row.floorValue;
  return "most" in bound
    ? { ...row, ratio, budget: `≤ ${bound.most} × the floor`, within: ratio <= bound.most }
    : { ...row, ratio, budget: `≥ ${bound.least} × the floor`, within: ratio >= bound.least };
}

/** The middle of several runs; of an even number, the lower middle. */
export function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted[Math.floor((sorted.length - 1) / 2)];
  if (middle === undefined) throw new RangeError("a median needs at least one value");
  return middle;
}
