import { describe, expect, it } from "vitest";
import { wordsOf } from "../../words/words.ts";
import { type Equipment, equipmentConditions } from "./equipment.ts";

const words = wordsOf({ language: "en", timeZone: "Europe/Berlin", units: { temperature: "C", clock: "24h" } });
const well: Equipment = {
  silent: [],
  bad: [],
  differing: [],
  calibrations: [],
  machines: [],
  storeFault: null,
  storeAway: false,
  recordsFault: null,
};
const conditionsOf = (change: Partial<Equipment>) =>
  equipmentConditions({ ...well, ...change }).map(({ text, action, ...rest }) => ({
    ...rest,
    text: words.say(text),
    action: words.say(action),
  }));
const machine = { collector: "booth-pi", clock: "synchronised", undatedPacks: 0, outboxFault: null } as const;

describe("warnings of sensors, collectors and clocks", () => {
  it("says nothing while all is well", () => {
    expect(conditionsOf({ machines: [{ ...machine, collector: null }, machine] })).toEqual([]);
  });

  it("names a silent sensor and since when", () => {
    const lastAtMs = Date.parse("2026-03-02T07:59:00Z");
    const [condition] = conditionsOf({ silent: [{ quantity: "air-humidity", sensor: "pi/air", lastAtMs }] });
    expect(condition?.text).toBe("Sensor pi/air (air humidity) is silent since 08:59");
  });

  it("names a sensor whose readings are bad, what it says, and why that is not used", () => {
    const bad = { quantity: "panel-temperature", sensor: "pi/panel", value: 85, why: "spike" } as const;
    expect(conditionsOf({ bad: [bad] })[0]?.text).toBe("Sensor pi/panel (panel temperature) jumped to 85 °C: not used");
  });

  it("says of humidity sensors that disagree what solvent vapour does to them", () => {
    const pair = { sensors: ["pi/a", "pi/b"], byMedian: -7.25, overHours: 24 } as const;
    const [humidity, air] = conditionsOf({
      differing: [
        { ...pair, quantity: "air-humidity" },
        { ...pair, quantity: "air-temperature", byMedian: 1.5, overHours: 0.5 },
      ],
    });
    expect(humidity?.text).toBe("air humidity: pi/a, pi/b 7.3 % apart over the last day");
    expect(humidity?.action).toContain("solvent vapour makes humidity sensors drift");
    expect(air?.text).toContain("1.5 °C apart over the last half hour");
    expect(air?.action).not.toContain("vapour");
  });

  it("tells a calibration that is due from one that is over", () => {
    const calibration = { sensor: "pi/air", quantity: "air-humidity", due: "2026-03-10" } as const;
    const [soon, over] = conditionsOf({
      calibrations: [
        { ...calibration, isOver: false },
        { ...calibration, isOver: true },
      ],
    });
    expect(soon?.text).toContain("is due on 2026-03-10");
    expect(over?.text).toContain("was due on 2026-03-10");
  });

  it.each(["unsynchronised", "jumped"] as const)(
    "says whose clock is %s, and what that does to readings and times",
    (clock) => {
      const [own, collector] = conditionsOf({
        machines: [
          { ...machine, collector: null, clock },
          { ...machine, clock, undatedPacks: 12 },
        ],
      });
      expect(own?.text).toBe("This machine's clock is not certain: nor are the times shown");
      expect(collector?.text).toBe("The clock of booth-pi is not certain: its readings wait until it is");
    },
  );

  it("warns at once of a store that takes no readings", () => {
    expect(conditionsOf({ storeFault: "disk full" })).toMatchObject([{ rule: "store", urgency: "now" }]);
  });

  it("warns of a store on another machine that is away, and that nothing is lost", () => {
    const [condition] = conditionsOf({ storeAway: true });
    expect(condition).toMatchObject({ rule: "store-away", urgency: "soon", text: "The store of readings is away" });
  });

  it("warns at once of records that are not what they were", () => {
    const [condition] = conditionsOf({ recordsFault: "entry 7 was changed" });
    expect(condition).toMatchObject({ rule: "records", urgency: "now", text: "The records: entry 7 was changed" });
  });

  it("passes on what keeps a collector from its card", () => {
    const [condition] = conditionsOf({ machines: [{ ...machine, outboxFault: "the disk is full" }] });
    expect(condition).toMatchObject({
      rule: "outbox",
      text: "Outbox of booth-pi: the disk is full",
    });
  });
});
