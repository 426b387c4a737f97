import fc from "fast-check";
import { pino } from "pino";
import { beforeEach, describe, expect, it } from "vitest";
import { packDigest, packOf, type Receipt } from "../../collector/readings.ts";
import { Intake } from "./intake.ts";
import { ofCollectors } from "./reading-of.ts";
import { openSqliteStore } from "./sqlite.ts";
import type { ReadingStore, StoredReading } from "./store.ts";

const nowMs = Date.parse("2026-03-02T08:00:00Z");
const topic = "coatclock/1/shop/readings/booth-pi";
const bytes = (pack: unknown) => Buffer.from(JSON.stringify(pack));
const pack = (atMs: number, value: number) =>
  bytes(packOf("booth-pi", [{ sensor: "plenum", quantity: "air-temperature", atMs, value }]));

let store: ReadingStore;
let intake: Intake;
let receipts: { collector: string; receipt: Receipt; correlation: Buffer | undefined }[];
let committed: StoredReading[][];
let isClockBelieved: boolean;

beforeEach(() => {
  store = openSqliteStore(":memory:");
  receipts = [];
  committed = [];
  isClockBelieved = true;
  intake = intakeOf(store);
});

function intakeOf(into: ReadingStore): Intake {
  return new Intake({
    ...ofCollectors,
    store: into,
    onCommitted: (readings) => committed.push(readings),
    sendReceipt: (collector, receipt, correlation) => receipts.push({ collector, receipt, correlation }),
    now: () => nowMs,
    isClockBelieved: () => isClockBelieved,
    logger: pino({ level: "silent" }),
  });
}

describe("the intake", () => {
  it("commits a pack, then tells of it and sends its receipt with the correlation data", async () => {
    const payload = pack(nowMs, 20.5);
    intake.accept(topic, payload, Buffer.from("mark"));
    expect(receipts).toEqual([]);
    await intake.stop();
    expect(committed).toEqual([
      [{ collector: "booth-pi", sensor: "plenum", quantity: "air-temperature", atMs: nowMs, value: 20.5 }],
    ]);
    expect(receipts).toEqual([
      {
        collector: "booth-pi",
        receipt: { pack: packDigest(payload), status: "stored" },
        correlation: Buffer.from("mark"),
      },
    ]);
  });

  it("sends a receipt for a second copy too, and stores and tells nothing", async () => {
    intake.accept(topic, pack(nowMs, 20.5));
    intake.accept(topic, pack(nowMs, 20.5));
    await intake.stop();
    expect(receipts).toHaveLength(2);
    expect(committed.flat()).toHaveLength(1);
    expect(intake.state()).toMatchObject({ packsStored: 2, readingsStored: 1, readingsKnown: 1 });
  });

  it("resolves relative times by its own clock", async () => {
    intake.accept(topic, bytes([{ bn: "booth-pi/plenum/", n: "air-temperature", u: "Cel", t: -90, v: 19 }]));
    await intake.stop();
    expect(committed.flat()[0]?.atMs).toBe(nowMs - 90_000);
  });

  it.each([
    ["not JSON", Buffer.from("{oops"), /not JSON/],
    [
      "another collector's name",
      bytes([{ n: "yard-pi/mast/air-temperature", u: "Cel", v: 1 }]),
      /not of collector booth-pi/,
    ],
    ["a name of other form", bytes([{ n: "booth-pi", u: "Cel", v: 1 }]), /expected <collector>\/<sensor>\/<quantity>/],
    ["an unknown quantity", bytes([{ n: "booth-pi/plenum/smell", u: "Cel", v: 1 }]), /quantity "smell"/],
    ["a wrong unit", bytes([{ n: "booth-pi/plenum/air-temperature", u: "K", v: 293 }]), /expected Cel, found K/],
    ["no number", bytes([{ n: "booth-pi/plenum/air-temperature", u: "Cel", vs: "warm" }]), /expected a number/],
    [
      "a sum that is no number",
      bytes([{ n: "booth-pi/plenum/air-temperature", u: "Cel", bv: 1e308, v: 1e308 }]),
      /expected a number/,
    ],
    ["no sensor's name", bytes([{ n: "booth-pi//air-temperature", u: "Cel", v: 1 }]), /"" is no sensor's name/],
    [
      "an instant that no date can hold, which no store takes",
      bytes([{ n: "booth-pi/plenum/air-temperature", u: "Cel", t: 1e300, v: 1 }]),
      /1e\+300 s is no date/,
    ],
    [
      "what has a reason without end, cutting it short",
      bytes([{ n: `booth-pi/${"a".repeat(5000)}/air-temperature`, u: "Cel", v: 1 }]),
      /^name "booth-pi.{1,290}$/,
    ],
  ])("refuses %s whole, with the reason, and says so in the receipt", async (_name, payload, reason) => {
    intake.accept(topic, payload);
    await intake.stop();
    expect(committed).toEqual([]);
    expect(receipts[0]?.receipt).toMatchObject({
      pack: packDigest(payload),
      status: "refused",
      reason: expect.stringMatching(reason),
    });
    expect(intake.state().refused[0]).toMatchObject({ sender: "booth-pi", reason: expect.stringMatching(reason) });
  });

  it("takes no inherited property of an object for a quantity", async () => {
    for (const name of ["toString", "constructor", "__proto__", "hasOwnProperty"]) {
      intake.accept(topic, bytes([{ n: `booth-pi/plenum/${name}`, v: 1 }]));
    }
    await intake.stop();
    expect(committed).toEqual([]);
    expect(intake.state().packsRefused).toBe(4);
  });

  it("refuses or stores whatever comes, and goes on", async () => {
    const label = fc.constantFrom(
      "bn",
      "bt",
      "bu",
      "bv",
      "bs",
      "bver",
      "n",
      "u",
      "v",
      "vs",
      "vb",
      "vd",
      "s",
      "t",
      "ut",
      "x",
      "x_",
    );
    const value = fc.oneof(
      fc.constantFrom("booth-pi/plenum/air-temperature", "booth-pi/plenum/", "air-temperature", "Cel", "", 10, -1e300),
      fc.double(),
      fc.jsonValue(),
    );
    const record = fc.dictionary(label, value, { maxKeys: 8 });
    const payload = fc.oneof(fc.array(record).map(bytes), fc.json().map(Buffer.from), fc.uint8Array().map(Buffer.from));
    let sent = 0;
    fc.assert(
      fc.property(payload, (each) => {
        intake.accept(topic, each);
        sent++;
      }),
      { numRuns: 5000 },
    );
    await intake.stop();
    expect(intake.state().packsStored + intake.state().packsRefused).toBe(sent);
    expect(receipts).toHaveLength(sent);
    expect(intake.state().storeFault).toBeNull();
  });

  it("keeps the last hundred refused packs", () => {
    for (let n = 0; n < 130; n++) intake.accept(topic, Buffer.from(`broken ${n}`));
    expect(intake.state().packsRefused).toBe(130);
    expect(intake.state().refused).toHaveLength(100);
    expect(intake.state().refused[0]?.payload).toBe("broken 129");
  });

  it("keeps a value that can be no measurement, and counts it", async () => {
    intake.accept(topic, pack(nowMs, 850));
    await intake.stop();
    expect(await store.latest({ collector: "booth-pi", sensor: "plenum", quantity: "air-temperature" })).toEqual({
      atMs: nowMs,
      value: 850,
    });
    expect(intake.state().readingsUnusable).toBe(1);
  });

  it("keeps the collector's marks with their readings, and counts the bad ones", async () => {
    const reading = { sensor: "plenum", quantity: "air-temperature", atMs: nowMs, value: 20 } as const;
    const marked = [
      { ...reading, mark: { quality: "doubtful", why: "fast change" } } as const,
      { ...reading, atMs: nowMs + 1000, mark: { quality: "bad", why: "stuck" } } as const,
      { ...reading, atMs: nowMs + 2000 },
    ];
    intake.accept(topic, bytes(packOf("booth-pi", marked)));
    await intake.stop();
    expect(committed.flat()).toEqual(marked.map((each) => ({ collector: "booth-pi", ...each })));
    expect(intake.state().readingsUnusable).toBe(1);
  });

  it.each([{ quality: "splendid", why: "stuck" }, { quality: "bad", why: "mood" }, { quality: "bad" }])(
    "refuses a pack with a mark that is not agreed on: %j",
    async (mark) => {
      const [record] = packOf("booth-pi", [{ sensor: "plenum", quantity: "air-temperature", atMs: nowMs, value: 20 }]);
      intake.accept(topic, bytes([{ ...record, ...mark }]));
      await intake.stop();
      expect(receipts[0]?.receipt).toMatchObject({ status: "refused", reason: expect.stringContaining("mark of") });
    },
  );

  it("neither takes nor answers instants well ahead of a clock that is believed", async () => {
    intake.accept(topic, pack(nowMs + 15 * 60_000 + 1, 20));
    intake.accept(topic, pack(nowMs + 15 * 60_000, 21));
    await expect.poll(() => receipts.length).toBe(1);
    expect(intake.state()).toMatchObject({ packsUndated: 1, packsRefused: 0, readingsStored: 1 });
    isClockBelieved = false;
    intake.accept(topic, pack(nowMs + 86_400_000, 22));
    await intake.stop();
    expect(committed.flat().map(({ value }) => value)).toEqual([21, 22]);
  });

  it("neither takes nor answers relative times while this machine's clock is not believed; absolute ones it takes", async () => {
    const relative = bytes([{ n: "booth-pi/plenum/air-temperature", u: "Cel", t: -5, v: 20 }]);
    isClockBelieved = false;
    intake.accept(topic, relative);
    intake.accept(topic, pack(nowMs, 21));
    await expect.poll(() => receipts.length).toBe(1);
    expect(intake.state()).toMatchObject({ packsUndated: 1, packsRefused: 0, readingsStored: 1 });
    isClockBelieved = true;
    intake.accept(topic, relative);
    await intake.stop();
    expect(committed.flat().map(({ atMs }) => atMs)).toEqual([nowMs, nowMs - 5000]);
  });

  it("goes on storing when whoever follows the readings fails", async () => {
    intake = new Intake({
      ...ofCollectors,
      store,
      onCommitted: () => {
        throw new Error("a fault elsewhere");
      },
      sendReceipt: (collector, receipt, correlation) => receipts.push({ collector, receipt, correlation }),
      now: () => nowMs,
      isClockBelieved: () => true,
      logger: pino({ level: "silent" }),
    });
    intake.accept(topic, pack(nowMs, 20));
    await expect.poll(() => receipts.length).toBe(1);
    intake.accept(topic, pack(nowMs + 1000, 21));
    await expect.poll(() => receipts.length).toBe(2);
    expect(intake.state().readingsStored).toBe(2);
  });

  it("keeps packs waiting, without receipts, while the store refuses, and commits them when it takes them again", async () => {
    let isFull = true;
    const moody: ReadingStore = {
      ...store,
      append: (readings) => (isFull ? Promise.reject(new Error("disk is full")) : store.append(readings)),
    };
    intake = intakeOf(moody);
    intake.accept(topic, pack(nowMs, 20));
    await new Promise((resolve) => setTimeout(resolve, 50));
    expect(receipts).toEqual([]);
    expect(intake.state()).toMatchObject({ storeFault: "disk is full", packsWaiting: 1 });
    isFull = false;
    await expect.poll(() => receipts.length, { timeout: 5000 }).toBe(1);
    expect(intake.state()).toMatchObject({ storeFault: null, packsWaiting: 0 });
  });
});
