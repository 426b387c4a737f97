import { expect, it } from "vitest";
import { parseLine } from "./serial-line.ts";

/** Lines published with public projects, of devices with forms of their own: without a check none of them may give a reading. */
it.each([
  ["a reader of a character device", "T: 18.50C H: 28.00%"],
  ["the same reader's error", "Inconsistent data"],
  ["a heading repeated after each reset", "# temperature_c,humidity_pct"],
  ["a temperature and a humidity", "23.40,41.20"],
  ["a remark in the stream", "# read failed"],
  ["a failed read as numbers", "nan,nan"],
  ["a cut line", "23.4"],
  ["two lines joined", "23.40,41.2023.40,41.30"],
  ["decimal commas", "23,40;41,20"],
])("a serial line of %s gives no reading: %j", (_what, line) => {
  const sensors = new Set(["T:", "T", "Inconsistent", "#", "23.40,41.20", "nan,nan", "23.4", "bay-2"]);
  expect(parseLine(line, sensors)).toEqual({ readings: [], faults: ["no check"] });
});
