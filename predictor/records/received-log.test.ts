import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { exampleRecords, painter, plainCoat } from "./example-records.ts";
import { canonical, hashOf } from "./log.ts";
import { type Received, Records } from "./records.ts";
import { verify } from "./verify.ts";

let folder: string;
let shop: Records;
let copy: Records;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-copy-"));
  shop = exampleRecords();
  const atMs = Date.now() - 3_600_000;
  const panels = [{ name: "bonnet", substrate: "steel" }] as const;
  const { id } = shop.addCar({ job: "J-1", name: "Grey van", panels, place: "booth", atMs }, painter);
  shop.addCoats(id, { ...plainCoat, finishedAtMs: atMs + 1000 }, painter);
  copy = new Records({ file: join(folder, "records.db"), now: Date.now, clock: () => "unknown" });
});
afterEach(() => {
  shop.close();
  copy.close();
  rmSync(folder, { recursive: true, force: true });
});

const written = (after = 0): Received[] => shop.writtenAfter(after, 1_000_000);
const changed = (received: Received | undefined, change: (entry: string) => string): Received => {
  const entry = change(received?.entry ?? "");
  return { entry, hash: hashOf(entry) };
};

describe("a copy of a log", () => {
  it("holds the entries verbatim, with the tables that they make, whatever comes twice or in pieces", () => {
    const all = written();
    expect(copy.receive(all.slice(0, 3))).toEqual({ kind: "held" });
    expect(copy.receive(all.slice(1, 5))).toEqual({ kind: "held" });
    expect(copy.receive(all)).toEqual({ kind: "held" });
    expect(copy.head()).toEqual(shop.head());
    expect(copy.writtenAfter(0, 1_000_000)).toEqual(shop.writtenAfter(0, 1_000_000));
    expect(copy.carsHere()).toEqual(shop.carsHere());
    expect(copy.sheets()).toEqual(shop.sheets());
    expect(verify(join(folder, "records.db")).faults).toEqual([]);
  });

  it("says where entries are missing, and takes none after them", () => {
    const all = written();
    expect(copy.receive(all.slice(1))).toEqual({ kind: "gap" });
    expect(copy.head()).toBeNull();
    expect(copy.receive([...all.slice(0, 2), ...all.slice(3)])).toEqual({ kind: "gap" });
    expect(copy.head()?.seq).toBe(2);
  });

  it.each<[string, (all: Received[]) => Received[], RegExp]>([
    [
      "whose text is not what its hash is of",
      ([first, second]) => [
        { entry: (first?.entry ?? "").replace("Coatclock", "Coatclick"), hash: first?.hash ?? "" },
        second as Received,
      ],
      /^entry 1: its text does not have the hash/,
    ],
    [
      "that was written anew, with a hash of its own",
      ([first, second]) => [changed(first, (entry) => entry.replace("Coatclock", "Coatclick")), second as Received],
      /^entry 2: it was not made after entry 1/,
    ],
    [
      "that is not in canonical form",
      ([first]) => [changed(first, (entry) => entry.replace('"at":', '"at": '))],
      /^entry 1: it is not in canonical form/,
    ],
    ["that is no entry", () => [{ entry: "nonsense", hash: hashOf("nonsense") }], /^entry 1: it is no JSON text/],
  ])("takes none %s, nor any after it", (_, tampered, fault) => {
    expect(copy.receive(tampered(written()))).toEqual({ kind: "broken", fault: expect.stringMatching(fault) });
    expect(copy.head()?.seq ?? 0).toBeLessThan(2);
  });

  it("says so when an entry comes again as another, and keeps the one it holds", () => {
    const all = written();
    copy.receive(all);
    const other = changed(all[2], (entry) => entry.replace("Coatclock", "Coatclick"));
    expect(copy.receive([other])).toEqual({ kind: "broken", fault: expect.stringMatching(/^entry 3: it came again/) });
    expect(copy.head()).toEqual(shop.head());
  });

  it("takes no entry that its tables refuse", () => {
    const all = written();
    copy.receive(all);
    const head = copy.head();
    const { seq = 0, hash = "" } = head ?? {};
    const entry = canonical({
      seq: seq + 1,
      at: new Date().toISOString(),
      clock: "synchronised",
      who: "nobody",
      role: "painter",
      kind: "coat-signed-off",
      what: { coatId: "none", carId: "none", meaning: "it is good" },
      previous: hash,
    });
    expect(copy.receive([{ entry, hash: hashOf(entry) }])).toMatchObject({ kind: "broken" });
    expect(copy.head()).toEqual(head);
  });

  it("waits with a sound entry of a kind that this version does not know", () => {
    const all = written();
    copy.receive(all);
    const last = all.at(-1);
    const { seq = 0, hash = "" } = shop.head() ?? {};
    const known = JSON.parse(last?.entry ?? "") as object;
    const entry = canonical({ ...known, seq: seq + 1, previous: hash, kind: "of-a-later-version" });
    expect(copy.receive([{ entry, hash: hashOf(entry) }])).toMatchObject({ kind: "unknown" });
    expect(copy.head()).toEqual(shop.head());
  });
});
