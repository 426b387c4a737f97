import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, it } from "vitest";
import { readGroupFile } from "./group-file.ts";

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-group-file-"));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const broker = "broker: { kind: address, url: mqtts://group.example:8883 }";
function read(text: string) {
  const file = join(folder, "group.yaml");
  writeFileSync(file, text);
  return readGroupFile(file);
}

it("reads the example of the docs, and what is left out is what the docs say", () => {
  const example = readGroupFile(join(import.meta.dirname, "../../docs/examples/head-office/three-shops.yaml"));
  expect(example.shops).toEqual(["north", "south", "west"]);
  expect(read(`{ group: g, name: Group, ${broker}, shops: [north] }`)).toMatchObject({
    invented: false,
    language: "en",
    ports: { http: 8080 },
    store: { kind: "sqlite" },
    broker: { protocol: "5" },
    folder,
  });
});

it.each([
  [
    "a key that there is not",
    `{ group: g, name: Group, ${broker}, shops: [north], places: {} }`,
    /group\.yaml:1 places/,
  ],
  ["no broker", "{ group: g, name: Group, shops: [north] }", /broker: expected/],
  ["an embedded broker", "{ group: g, name: Group, broker: { kind: embedded }, shops: [north] }", /broker/],
  [
    "a shop twice",
    `group: g\nname: Group\n${broker}\nshops:\n  - north\n  - north`,
    /group\.yaml:6 shops\.1: expected each shop once/,
  ],
  ["a shop's name that is none", `{ group: g, name: Group, ${broker}, shops: [North East] }`, /shops\.0/],
  ["no shop", `{ group: g, name: Group, ${broker}, shops: [] }`, /shops/],
])("says what is wrong with %s", (_, text, says) => {
  expect(() => read(text)).toThrow(says);
});
