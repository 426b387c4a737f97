import { describe, expect, it } from "vitest";
import { exampleCoat, exampleStage, minutes } from "../parts/example-coat.ts";
import { coatsAt, halfTurn, onTurn, pageMs, urgencyOf } from "./pages.ts";

const now = minutes(30);
const calm = (id: string) => exampleCoat(id, [exampleStage("sand", "not yet", 300, 330)]);
const closing = (id: string) => exampleCoat(id, [exampleStage("sand", "not yet", 300, 330)], [["closing", 5, 300]]);
const checking = (id: string) => exampleCoat(id, [exampleStage("sand", "check first", 25, 40)]);

describe("urgencyOf", () => {
  it("puts a closing window first, then a check that is due, then an open window and a stage within five minutes", () => {
    expect(urgencyOf(closing("1"), now)).toBe(3);
    expect(urgencyOf(checking("1"), now)).toBe(2);
    expect(urgencyOf(exampleCoat("1", [], [["open", 5, 300]]), now)).toBe(1);
    expect(urgencyOf(exampleCoat("1", [exampleStage("sand", "not yet", 35, 40)]), now)).toBe(1);
  });
  it("is none for what is far away, a missed window, a finished coat or one without prediction", () => {
    expect(urgencyOf(calm("1"), now)).toBe(0);
    expect(urgencyOf(exampleCoat("1", [exampleStage("sand", "not yet", 36, 40)]), now)).toBe(0);
    expect(urgencyOf(exampleCoat("1", [exampleStage("sand", "ready", 5, 6)], [["missed", 1, 2]]), now)).toBe(0);
    expect(urgencyOf({ ...calm("1"), prediction: null }, now)).toBe(0);
  });
});

describe("coatsAt", () => {
  const pagesOf = (coats: Parameters<typeof coatsAt>[0], capacity: number) =>
    Array.from({ length: 24 }, (_, turn) => coatsAt(coats, capacity, turn * pageMs + 0.5));
  const ids = (page: { items: { id: string }[] }) => page.items.map((coat) => coat.id).join("");

  it("shows everything on one page while it fits", () => {
    expect(coatsAt([calm("1"), calm("2")], 2, now)).toMatchObject({ number: 1, of: 1 });
    expect(ids(coatsAt([], 2, now))).toBe("");
  });
  it("turns after twelve seconds and shows every coat in turn", () => {
    const coats = ["1", "2", "3", "4", "5"].map(calm);
    expect(coatsAt(coats, 2, pageMs - 1).number).toBe(1);
    expect(coatsAt(coats, 2, pageMs).number).toBe(2);
    expect(pagesOf(coats, 2).slice(0, 4).map(ids)).toEqual(["12", "34", "5", "12"]);
  });
  it("keeps an urgent coat on every page, in the order given", () => {
    const coats = [calm("1"), checking("2"), calm("3"), calm("4")];
    expect(pagesOf(coats, 2).slice(0, 3).map(ids)).toEqual(["12", "23", "24"]);
  });
  it.each([1, 2, 3, 5, 9])("shows each of %i coats in turn, and the one whose window closes on every page", (count) => {
    const coats = Array.from({ length: count }, (_, n) => calm(String(n)));
    coats[count - 1] = closing("last");
    const pages = pagesOf(coats, 2);
    for (const page of pages) {
      expect(page.items.length).toBeLessThanOrEqual(2);
      expect(page.items.map(({ id }) => id)).toContain("last");
    }
    expect(new Set(pages.flatMap((page) => page.items.map(({ id }) => id))).size).toBe(count);
  });
  it("lets the most urgent take turns where they are too many, beside the others", () => {
    const coats = [closing("1"), closing("2"), checking("3"), calm("4")];
    expect(pagesOf(coats, 2).slice(0, 4).map(ids)).toEqual(["13", "24", "13", "24"]);
    expect(ids(coatsAt([closing("1"), checking("2"), calm("3"), calm("4")], 3, 0))).toBe("123");
  });
  it("never shows more than fits and hides no coat for good, even when all are urgent or there is one place only", () => {
    const coats = ["1", "2", "3", "4", "5"].map(checking);
    for (const capacity of [1, 2, 3]) {
      const pages = pagesOf(coats, capacity);
      for (const page of pages) expect(page.items.length).toBeLessThanOrEqual(capacity);
      expect(new Set(pages.flatMap((page) => page.items.map((coat) => coat.id))).size).toBe(5);
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

describe("halfTurn", () => {
  it("says what is the matter and then what to do, both before the page turns", () => {
    expect([0, pageMs / 2 - 1, pageMs / 2, pageMs - 1, pageMs].map(halfTurn)).toEqual([
      "text",
      "text",
      "action",
      "action",
      "text",
    ]);
  });
});
