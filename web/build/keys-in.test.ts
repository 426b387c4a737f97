// biome-ignore-all lint/suspicious/noTemplateCurlyInString: code, as text
import { expect, it } from "vitest";
import { keysIn } from "./keys-in.ts";

const keys = [
  "car.card",
  "card.title",
  "stage.sand",
  "stage.polish",
  "stages.none",
  "file.air-mean",
  "file.air-more",
  "panel.a.b",
];

it.each([
  ["a key written out", 'words.t("car.card")', ["car.card"]],
  ["each of a choice", 'words.t(isNew ? "car.card" : found ?? "card.title")', ["car.card", "card.title"]],
  ["a key in a table", 'const names = { no: "card.title", ["stage.sand"]: 1 }', ["card.title", "stage.sand"]],
  ["a key in a template without holes", "words.t(`car.card`)", ["car.card"]],
  ["all that a template may become", "words.t(`stage.${stage}`)", ["stage.sand", "stage.polish"]],
  ["what stands after the hole counts", "words.t(`file.${what}-mean`)", ["file.air-mean"]],
  ["a vocabulary", 'words.named("stage", name)', ["stage.sand", "stage.polish"]],
  ["a vocabulary that may be absent", 'words?.named("stage", name)', ["stage.sand", "stage.polish"]],
  ["a vocabulary as data", 'const what = { prefix: "panel", name }', ["panel.a.b"]],
  ["a template that begins with what is put in: no key", "const id = `${path}.card`", []],
  ["words that are no key", 'const text = "stage"; x.other("stage", 1)', []],
])("finds %s", (_what, code, found) => {
  expect([...keysIn(code, keys)].sort()).toEqual([...found].sort());
});

it("reads the sources as they are", () => {
  const source = "const Title = ({ stage }: Props) => <b>{words.t(`stage.${stage}` satisfies TextKey)}</b>;";
  expect([...keysIn(source, keys, "title.tsx")]).toEqual(["stage.sand", "stage.polish"]);
});
