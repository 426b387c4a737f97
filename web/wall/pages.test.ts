import { describe, expect, it } from "vitest";
import { exampleCoat, exampleStage, minutes } from "../parts/example-coat.ts";
import { isUrgent, onTurn, pageAt, pageMs } from "./pages.ts";

const now = minutes(30);
const calm = (id: string) => exampleCoat(id, [exampleStage("sand", "not yet", 300, 330)]);
const checking = (id: string) => exampleCoat(id, [exampleStage("sand", "check first", 25, 40)]);

describe("isUrgent", () => {
  it("holds for an open or closing window, a check due, and a stage within five minutes", () => {
    expect(isUrgent(checking("1"), now)).toBe(true);
    expect(isUrgent(exampleCoat("1", [], [["open", 5, 300]]), now)).toBe(true);
    expect(isUrgent(exampleCoat("1", [], [["closing", 5, 32]]), now)).toBe(true);
    expect(isUrgent(exampleCoat("1", [exampleStage("sand", "not yet", 35, 40)]), now)).toBe(true);
  });
  it("does not hold for what is far away, a missed window, a finished coat or one without prediction", () => {
    expect(isUrgent(calm("1"), now)).toBe(false);
    expect(isUrgent(exampleCoat("1", [exampleStage("sand", "not yet", 36, 40)]), now)).toBe(false);
    expect(isUrgent(exampleCoat("1", [exampleStage("sand", "ready", 5, 6)], [["missed", 1, 2]]), now)).toBe(false);
    expect(isUrgent({ ...calm("1"), prediction: null }, now)).toBe(false);
  });
});

describe("pageAt", () => {
  const pagesOf = (coats: Parameters<typeof pageAt>[0], capacity: number) =>
    Array.from({ length: 24 }, (_, turn) => pageAt(coats, capacity, turn * pageMs + 0.5));
  const ids = (page: { coats: { id: string }[] }) => page.coats.map((coat) => coat.id).join("");

  it("shows everything on one page while it fits", () => {
    expect(pageAt([calm("1"), calm("2")], 2, now)).toMatchObject({ number: 1, of: 1 });
    expect(ids(pageAt([], 2, now))).toBe("");
  });
  it("turns after twelve seconds and shows every coat in turn", () => {
    const coats = ["1", "2", "3", "4", "5"].map(calm);
    expect(pageAt(coats, 2, pageMs - 1).number).toBe(1);
    expect(pageAt(coats, 2, pageMs).number).toBe(2);
    expect(pagesOf(coats, 2).slice(0, 4).map(ids)).toEqual(["12", "34", "5", "12"]);
  });
  it("keeps an urgent coat on every page, in the order given", () => {
    const coats = [calm("1"), checking("2"), calm("3"), calm("4")];
    expect(pagesOf(coats, 2).slice(0, 3).map(ids)).toEqual(["12", "23", "24"]);
  });
  it("never shows more than fits and hides no coat for good, even when all are urgent", () => {
    const coats = ["1", "2", "3", "4", "5"].map(checking);
    for (const capacity of [2, 3]) {
      const pages = pagesOf(coats, capacity);
      for (const page of pages) expect(page.coats.length).toBeLessThanOrEqual(capacity);
      expect(new Set(pages.flatMap((page) => page.coats.map((coat) => coat.id))).size).toBe(5);
    }
  });
});

describe("onTurn", () => {
  it("gives each its turn, one page long, and nothing of nothing", () => {
    const turns = [0, pageMs - 1, pageMs, 2 * pageMs].map((ms) => onTurn(["a", "b"], ms));
    expect(turns).toEqual([["a"], ["a"], ["b"], ["a"]]);
    expect(onTurn([], now)).toEqual([]);
  });
});
