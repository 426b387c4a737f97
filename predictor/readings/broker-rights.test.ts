import { describe, expect, it } from "vitest";
import { isWithin, rightsOf } from "./broker-rights.ts";

const base = "coatclock/1/my-shop";

describe("a filter within another", () => {
  it.each([
    ["a/b", "a/b", true],
    ["a/b", "a/+", true],
    ["a/+", "a/+", true],
    ["a/+", "a/b", false],
    ["a/#", "a/+", false],
    ["a/#", "a/#", true],
    ["a", "a/#", true],
    ["a/+/c/#", "a/#", true],
    ["+/b", "a/#", false],
    ["#", "a/#", false],
    ["a/b/c", "a/b", false],
    ["a", "a/b", false],
    ["a/b/", "a/b", false],
    ["", "a/#", false],
  ])("%s reaches no wider than %s: %s", (filter, allowed, expected) => {
    expect(isWithin(filter, allowed)).toBe(expected);
  });
});

describe("rights", () => {
  const anonymous = rightsOf({ kind: "anonymous" }, "my-shop");
  const collector = rightsOf({ kind: "collector", name: "booth" }, "my-shop");
  const program = rightsOf({ kind: "program" }, "my-shop");

  it("let anyone hear readiness, warnings, time and collectors of this shop, and nothing else", () => {
    for (const filter of ["readiness/#", "readiness/car-1/+", "warnings/booth/cold", "time", "collectors/+"])
      expect(anonymous.maySubscribe(`${base}/${filter}`)).toBe(true);
    for (const filter of ["#", "+/#", `${base}/#`, `${base}/+`, `${base}/+/booth`, `${base}/readings/booth`])
      expect(anonymous.maySubscribe(filter)).toBe(false);
    for (const filter of [`${base}/receipts/booth`, "coatclock/1/other/time", "$SYS/#", "$share/x/#", `${base}/timer`])
      expect(anonymous.maySubscribe(filter)).toBe(false);
    for (const topic of ["time", "readings/booth", "collectors/booth", "readiness/a/b"])
      expect(anonymous.mayPublish(`${base}/${topic}`)).toBe(false);
  });

  it("let a collector write and hear what bears its name only", () => {
    expect(collector.mayPublish(`${base}/readings/booth`)).toBe(true);
    expect(collector.mayPublish(`${base}/collectors/booth`)).toBe(true);
    for (const topic of ["readings/yard", "collectors/yard", "receipts/booth", "time", "readings/booth/x", "readings"])
      expect(collector.mayPublish(`${base}/${topic}`)).toBe(false);
    expect(collector.maySubscribe(`${base}/receipts/booth`)).toBe(true);
    expect(collector.maySubscribe(`${base}/time`)).toBe(true);
    for (const filter of [`${base}/receipts/+`, `${base}/receipts/yard`, `${base}/readings/booth`, "$SYS/#"])
      expect(collector.maySubscribe(filter)).toBe(false);
  });

  it("let the program do all but speak as the broker", () => {
    expect(program.mayPublish(`${base}/time`)).toBe(true);
    expect(program.maySubscribe("#")).toBe(true);
    expect(program.mayPublish("$SYS/x")).toBe(false);
  });
});
