import { expect, it } from "vitest";
import { z } from "zod";
import { faultLines } from "./faults.ts";

const schema = z.strictObject({
  name: z.string().min(1),
  list: z.array(z.number()).min(1),
  share: z.number().max(1),
  kind: z.discriminatedUnion("kind", [
    z.strictObject({ kind: z.literal("a"), port: z.number() }),
    z.strictObject({ kind: z.literal("b") }),
  ]),
  either: z.union([z.number(), z.strictObject({ deep: z.string() })]),
});

function faultsOf(input: unknown): string[] {
  const { error } = schema.safeParse(input);
  return error === undefined
    ? []
    : faultLines(error, input).map((fault) => `${fault.path}: ${fault.expected}, found ${fault.found}`);
}

it("says for each fault what was expected, without the word twice, and what was found", () => {
  expect(faultsOf({ name: "", list: [], share: 2, kind: { kind: "a", port: "x" }, either: { deep: 1 } })).toEqual([
    'name: string to have >=1 characters, found ""',
    "list: array to have >=1 items, found []",
    "share: number to be <=1, found 2",
    'kind.port: a value of type number, found "x"',
    "either.deep: a value of type string, found 1",
  ]);
});

it("names each unknown key, and what is missing as nothing", () => {
  expect(faultsOf({ name: "n", list: [1], share: 1, kind: { kind: "b" }, either: 1, extra: 1, more: 2 })).toEqual([
    "extra: no such key here, found key extra",
    "more: no such key here, found key more",
  ]);
  expect(faultsOf({ name: "n", list: [1], share: 1, either: 1 })[0]).toContain("found nothing");
});

it("says so of what is nested deeper than it can be shown", () => {
  const deep: unknown = JSON.parse("[".repeat(100_000) + "]".repeat(100_000));
  expect(faultsOf({ name: "a", list: deep, share: deep, kind: { kind: "b" }, either: 1 })).toContain(
    "share: a value of type number, found what is nested too deeply",
  );
});
