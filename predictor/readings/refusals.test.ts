import { pino } from "pino";
import { expect, it } from "vitest";
import { Refusals } from "./refusals.ts";

it("counts every refusal and logs each kind once a minute, with how many there were", () => {
  const lines: { times: number; msg: string }[] = [];
  const logger = pino({ base: null }, { write: (line) => lines.push(JSON.parse(line) as (typeof lines)[0]) });
  let nowMs = 5;
  const refusals = new Refusals(logger, () => nowMs);
  for (let n = 0; n < 1000; n++) refusals.count("wrong password", { address: "192.0.2.7" });
  refusals.count("too large", {});
  nowMs += 60_000;
  refusals.count("wrong password", { address: "192.0.2.7" });
  expect(lines.map(({ times, msg }) => [msg, times])).toEqual([
    ["broker: wrong password", 1],
    ["broker: too large", 1],
    ["broker: wrong password", 1000],
  ]);
  expect(refusals.totals()).toEqual({ "wrong password": 1001, "too large": 1 });
});
