/**
 * Stores readings, sends some of them again, and rolls up what lies behind, until it is killed; prints how many are stored.
 * Arguments: the compiled folder predictor/readings, the file.
 */
import { writeSync } from "node:fs";
import { join } from "node:path";

const [compiled, file] = process.argv.slice(2);
const { openSqliteStore } = await import(join(compiled, "sqlite.js"));
const series = { collector: "a", sensor: "b", quantity: "air-temperature" };
const reading = (n) => ({ ...series, atMs: n * 1000, value: (n % 600) / 10 });
const many = 100;

const store = openSqliteStore(file);
const newest = await store.latest(series);
let next = newest === undefined ? 0 : Math.floor(newest.atMs / 1000 / many) * many;
for (;;) {
  const first = Math.max(0, next - 20 * many);
  await store.append(Array.from({ length: many }, (_, n) => reading(first + n)));
  await store.append(Array.from({ length: many }, (_, n) => reading(next + n)));
  next += many;
  writeSync(1, `${next}\n`);
  await store.rollUp((next - 900) * 1000);
}
