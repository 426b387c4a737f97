/**
 * Makes entries in records until it is killed, and prints number and hash of each once it was acknowledged.
 * Arguments: the compiled folder predictor/records, the file.
 */
import { writeSync } from "node:fs";
import { join } from "node:path";

const [compiled, file] = process.argv.slice(2);
const { Records, program } = await import(join(compiled, "records.js"));
const { inventedSheets } = await import(join(compiled, "library.js"));

const by = { who: "an invented painter", role: "painter" };
const records = new Records({ file, now: Date.now, clock: () => "synchronised" });
const acknowledge = () => {
  const { seq, hash } = records.head();
  writeSync(1, `${seq} ${hash}\n`);
};
for (const sheet of inventedSheets()) records.keepSheet(sheet, program);
acknowledge();

const panels = [
  { name: "bonnet", substrate: "steel" },
  { name: "bumper", substrate: "plastic" },
];
const coat = { panels: ["bonnet", "bumper"], sheetId: "demo-clear", filmUm: null, panelAtFinishC: null };
for (;;) {
  const atMs = Date.now();
  const car = records.addCar({ job: "J-1", name: "Grey van", panels, place: "booth", atMs }, by);
  acknowledge();
  const [made] = records.addCoats(car.id, { ...coat, finishedAtMs: atMs + 1, batches: [], sprayCheck: null }, by);
  acknowledge();
  records.correctCoat(made.id, { reason: "entered in a hurry", finishedAtMs: atMs + 2, filmUm: 50 }, by);
  acknowledge();
  records.addCheck({ coatId: made.id, stage: "demask", atMs: atMs + 3, ready: true, how: "thumb" }, by);
  acknowledge();
  records.addMove(car.id, null, atMs + 4, by);
  acknowledge();
}
