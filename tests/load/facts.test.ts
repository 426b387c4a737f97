import { describe, expect, it } from "vitest";
import type { NoticeData } from "../../predictor/warnings/notices.ts";
import type { Warning } from "../../predictor/warnings/warnings.ts";
import { text } from "../../words/text.ts";
import { Beyond, Ears, type Fact } from "./facts.ts";
import { minuteMs } from "./invented-shop.ts";

const cold: Warning = {
  id: "w1",
  rule: "cold",
  place: "booth",
  alsoAt: [],
  urgency: "soon",
  text: text("warn.cold.else"),
  consequence: text("warn.cold.else"),
  action: text("warn.cold.do"),
  untilMs: null,
  sinceMs: 0,
  coatId: null,
  carId: null,
  state: "open",
  answer: null,
  setAside: null,
};
const message = (atMs: number, kind: "warning" | "gathered"): NoticeData => ({
  id: "n1",
  atMs,
  kind,
  urgency: "soon",
  text: cold.text,
  action: cold.action,
  warningId: kind === "gathered" ? null : cold.id,
  coatId: null,
  carId: null,
  count: 1,
});
const fact: Fact = { rule: "cold", what: "booth", fromMs: 1_000, byMs: 5_000, is: ({ rule }) => rule === "cold" };

describe("a fact", () => {
  it("is not told by a warning that was raised and reached nobody", () => {
    const ears = new Ears();
    ears.hear([cold], [], 2_000);
    expect(ears.wasTold(fact)).toBe(false);
  });

  it.each(["warning", "gathered"] as const)("is told by a message that is a %s one, in time and not later", (kind) => {
    const ears = new Ears();
    ears.hear([cold], [], 2_000);
    ears.hear([cold], [message(5_000, kind)], 5_000);
    expect(ears.wasTold(fact)).toBe(true);
    expect(ears.wasTold({ ...fact, byMs: 4_999 })).toBe(false);
  });

  it("is not told by a warning that was over before, nor by one of another rule", () => {
    const ears = new Ears();
    ears.hear([cold], [message(500, "warning")], 500);
    ears.hear([], [], 900);
    expect(ears.wasTold(fact)).toBe(false);
    ears.hear([{ ...cold, id: "w2", rule: "heat" }], [{ ...message(2_000, "warning"), warningId: "w2" }], 2_000);
    expect(ears.wasTold(fact)).toBe(false);
  });
});

it("a quantity matters once, when it has been beyond for five minutes without a break", () => {
  const beyond = new Beyond();
  const edges = { enter: 0.5, leave: 0 };
  const look = (minute: number, by: number | null) => beyond.look(by, edges, minute * minuteMs);
  expect([look(0, 0.4), look(1, 0.6), look(5, 0.1), look(6, 0.2), look(7, 0.6)]).toEqual([
    null,
    null,
    null,
    minuteMs,
    null,
  ]);
  expect([look(8, -0.1), look(9, 0.6), look(13, null), look(14, 0.6), look(18, 0.6)]).toEqual(Array(5).fill(null));
  expect(look(19, 0.6)).toBe(14 * minuteMs);
});
