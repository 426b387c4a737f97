import { describe, expect, it } from "vitest";
import { lampSchema } from "./settings.ts";

const line = { chip: "pinctrl-test", offset: 17 };
const ready = { ready: "sand", place: "prep" };
const outputsOf = (...outputs: object[]) => lampSchema.safeParse({ outputs });

describe("lampSchema", () => {
  it("takes one stage as a list of one, and a steady light on a high level unless told otherwise", () => {
    const { outputs } = lampSchema.parse({ outputs: [{ when: ready, line }] });
    expect(outputs).toEqual([
      { when: { ready: ["sand"], place: "prep" }, line: { ...line, activeLow: false }, pattern: "steady" },
    ]);
  });

  it("takes each kind of what to show, of drive and of pattern", () => {
    const result = outputsOf(
      { when: { ready: ["demask", "assemble"], place: "booth-1" }, line },
      { when: { warning: "any", urgency: "now" }, command: "/bin/true", pattern: { once: { seconds: 2 } } },
      {
        when: { warning: "humidity", place: "booth-1" },
        line: { chip: "gpiochip4", offset: 5, activeLow: true },
        pattern: { pulse: { onSeconds: 0.5, offSeconds: 2 } },
      },
      { when: { lost: true }, line: { chip: "gpiochip0", offset: 6 } },
    );
    expect(result.error).toBeUndefined();
  });

  it.each([
    ["a stage that there is not", { when: { ready: "snad", place: "prep" }, line }],
    ["a rule that there is not", { when: { warning: "humid" }, line }],
    ["readiness without a place", { when: { ready: "sand" }, line }],
    ["two things at once", { when: { ...ready, lost: true }, line }],
    ["lost: false", { when: { lost: false }, line }],
    ["neither line nor command", { when: ready }],
    ["both line and command", { when: ready, line, command: "/bin/true" }],
    ["a command that would be looked for", { when: ready, command: "buzz" }],
    ["a chip that gpioset would read as an option", { when: ready, line: { chip: "--help", offset: 1 } }],
    ["a chip with more words", { when: ready, line: { chip: "gpiochip0 1=1", offset: 1 } }],
    ["an offset that is no whole number", { when: ready, line: { chip: "gpiochip0", offset: 1.5 } }],
    ["a flash too short for a relay", { when: ready, line, pattern: { pulse: { onSeconds: 0.1, offSeconds: 1 } } }],
    ["a buzzer that never ends", { when: ready, line, pattern: { once: { seconds: Number.POSITIVE_INFINITY } } }],
    ["NaN seconds", { when: ready, line, pattern: { once: { seconds: Number.NaN } } }],
    ["a pattern that there is not", { when: ready, line, pattern: "blink" }],
  ])("refuses %s", (_what, output) => {
    expect(outputsOf(output).success).toBe(false);
  });

  it("refuses two outputs that would fight over one line or one command, and a lamp without any", () => {
    expect(outputsOf({ when: ready, line }, { when: { lost: true }, line }).success).toBe(false);
    expect(outputsOf({ when: ready, line }, { when: { lost: true }, line: { ...line, activeLow: true } }).success).toBe(
      false,
    );
    const command = "/bin/true";
    expect(outputsOf({ when: ready, command }, { when: { lost: true }, command }).success).toBe(false);
    expect(outputsOf({ when: ready, line }, { when: { lost: true }, line: { ...line, offset: 18 } }).success).toBe(
      true,
    );
    expect(outputsOf().success).toBe(false);
  });
});
