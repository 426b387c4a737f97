/** The outbox on disk with full, read-only and damaged cards. */
import { spawnSync } from "node:child_process";
import {
  closeSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readdirSync,
  rmSync,
  statSync,
  truncateSync,
  writeFileSync,
  writeSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { DiskOutbox } from "../../collector/outbox/disk-outbox.ts";
import { blockedFolder, OutboxPlace } from "../outbox-place.ts";

let place: OutboxPlace;
let mounted: string[];

beforeEach(() => {
  vi.useFakeTimers();
  place = new OutboxPlace();
  mounted = [];
});
afterEach(() => {
  place.close();
  vi.useRealTimers();
  for (const path of mounted) spawnSync("umount", [path]);
  place.remove();
});

const payloadOf = (number: number) => JSON.stringify({ number, readings: "x".repeat(200) });
const numbersIn = (outbox: DiskOutbox): number[] =>
  [...outbox.waiting("backlog"), ...outbox.waiting("live")].map(({ payload }) => JSON.parse(payload).number);
const upTo = (count: number) => Array.from({ length: count }, (_, n) => n);
const addUpTo = (outbox: DiskOutbox, count: number, from = 0) => {
  for (let n = from; n < count; n += 1) outbox.add(payloadOf(n), "live");
};
const receiptAll = (outbox: DiskOutbox) => {
  for (const urgency of ["backlog", "live"] as const) {
    for (const { digest } of outbox.waiting(urgency)) outbox.remove(digest);
  }
};
const asides = () => readdirSync(place.card).filter((name) => /\.damaged-\d{8}T\d{9}Z$/.test(name));

/** A file system of one mebibyte; null where this user may not mount. */
const mountRefusal = (() => {
  const probe = mkdtempSync(join(tmpdir(), "coatclock-mount-"));
  const { status, error } = spawnSync("mount", ["-t", "tmpfs", "-o", "size=1m", "coatclock", probe]);
  if (status === 0) spawnSync("umount", [probe]);
  rmSync(probe, { recursive: true });
  return status === 0 ? null : `no file system can be mounted here${error === undefined ? " by this user" : ""}`;
})();

function mountAt(path: string): void {
  mkdirSync(path, { recursive: true });
  const { status, stderr } = spawnSync("mount", ["-t", "tmpfs", "-o", "size=1m", "coatclock", path]);
  if (status !== 0) throw new Error(String(stderr));
  mounted.push(path);
}

describe.skipIf(mountRefusal !== null)(
  `small file systems${mountRefusal === null ? "" : ` (skipped: ${mountRefusal})`}`,
  () => {
    beforeEach(() => {
      vi.useFakeTimers();
    });

    it("keeps packs in memory while the card is full, loudly, and all of them on the card once there is room", () => {
      mountAt(place.card);
      writeFileSync(join(place.card, "ballast"), Buffer.alloc(700 * 1024));
      const outbox = place.open();
      addUpTo(outbox, 4_000);
      place.pass(60_000);
      expect(outbox.fault).toMatch(
        /outbox-bay\.db cannot be written \(SQLITE_FULL\): there is no room; free some space/,
      );
      expect(place.messages.filter((message) => message.includes("there is no room"))).toHaveLength(1);
      rmSync(join(place.card, "ballast"));
      spawnSync("mount", ["-o", "remount,size=8m", place.card]);
      place.pass(60_000);
      expect(outbox.fault).toBeNull();
      outbox.close();
      rmSync(place.run, { recursive: true });
      expect(numbersIn(place.open())).toEqual(upTo(4_000));
      expect(outbox.droppedPacks).toBe(0);
    });

    it("keeps what came while the card was full through kill -9, in the journal", () => {
      mountAt(place.card);
      writeFileSync(join(place.card, "ballast"), Buffer.alloc(1024 * 1024));
      const outbox = place.open();
      addUpTo(outbox, 2_000);
      place.pass(20_000);
      expect(outbox.fault).toContain("outbox-bay.db");
      const killed = place.copyOf("run", "run as killed");
      const next = place.open({ cardFolder: join(place.folder, "other card"), runFolder: killed });
      expect(numbersIn(next)).toEqual(upTo(2_000));
    });

    it("heals by receipts alone when the outbox itself has filled the card", () => {
      mountAt(place.card);
      const outbox = place.open();
      addUpTo(outbox, 6_000);
      place.pass(60_000);
      expect(outbox.fault).toContain("there is no room");
      expect(numbersIn(outbox)).toEqual(upTo(6_000));
      receiptAll(outbox);
      place.pass(20_000);
      expect(outbox.packs).toBe(0);
      addUpTo(outbox, 6_010, 6_000);
      place.pass(20_000);
      expect(outbox.fault).toBeNull();
      outbox.close();
      rmSync(place.run, { recursive: true });
      expect(numbersIn(place.open())).toEqual(upTo(6_010).slice(6_000));
    });

    it("goes on when the journal's folder is full, loudly, and journals again once there is room", () => {
      mountAt(place.run);
      writeFileSync(join(place.run, "ballast"), Buffer.alloc(900 * 1024));
      const outbox = place.open({ cardFolder: blockedFolder });
      addUpTo(outbox, 4_000);
      expect(outbox.fault).toContain("outbox-bay.journal.db cannot be written (SQLITE_FULL): there is no room");
      rmSync(join(place.run, "ballast"));
      spawnSync("mount", ["-o", "remount,size=8m", place.run]);
      place.pass(20_000);
      expect(outbox.fault).not.toContain("journal");
      const killed = place.copyOf("run", "run as killed");
      expect(numbersIn(place.open({ runFolder: killed })).sort((a, b) => a - b)).toEqual(upTo(4_000));
    });

    it("journals again by itself when its own packs have filled the folder and are on the card", () => {
      mountAt(place.run);
      const outbox = place.open();
      addUpTo(outbox, 6_000);
      expect(outbox.fault).toContain("outbox-bay.journal.db cannot be written");
      place.pass(30_000);
      expect(outbox.fault).toBeNull();
      expect(numbersIn(outbox)).toEqual(upTo(6_000));
    });

    it("says that a card is read-only from the start, and moves what came meanwhile there once it is not", () => {
      mountAt(place.card);
      const before = place.open();
      addUpTo(before, 10);
      before.close();
      spawnSync("mount", ["-o", "remount,ro", place.card]);
      const outbox = place.open();
      expect(outbox.fault).toMatch(/outbox-bay\.db cannot be written \(SQLITE_\w+\): its folder may not be written/);
      addUpTo(outbox, 20, 10);
      place.pass(30_000);
      spawnSync("mount", ["-o", "remount,rw", place.card]);
      place.pass(30_000);
      expect(outbox.fault).toBeNull();
      outbox.close();
      rmSync(place.run, { recursive: true });
      expect(numbersIn(place.open())).toEqual(upTo(20));
    });

    it("finds out by itself that a card is no longer read-only, though nothing waits", () => {
      mountAt(place.card);
      spawnSync("mount", ["-o", "remount,ro", place.card]);
      const outbox = place.open();
      place.pass(20_000);
      expect(outbox.fault).not.toBeNull();
      spawnSync("mount", ["-o", "remount,rw", place.card]);
      place.pass(10_000);
      expect(outbox.fault).toBeNull();
    });
  },
);

describe("a damaged file", () => {
  const file = () => join(place.card, "outbox-bay.db");
  const packs = 5_000;

  beforeEach(() => {
    const outbox = place.open();
    addUpTo(outbox, packs);
    outbox.close();
  });

  function scribble(fromByte: number, bytes: number): void {
    const descriptor = openSync(file(), "r+");
    writeSync(descriptor, Buffer.alloc(bytes, 0xa5), 0, bytes, fromByte);
    closeSync(descriptor);
  }

  function expectSetAside(outbox: DiskOutbox): void {
    expect(asides()).toHaveLength(1);
    expect(outbox.damage).toContain(`${file()} was damaged; it is kept as ${join(place.card, asides()[0] ?? "")}`);
    expect(place.messages).toContain(outbox.damage);
  }

  it("is set aside when pages in its middle are torn; what lies before and behind is carried over", () => {
    scribble(Math.floor(statSync(file()).size / 2 / 4096) * 4096, 3 * 4096);
    const outbox = place.open();
    expectSetAside(outbox);
    const kept = numbersIn(outbox);
    expect(kept.length).toBeGreaterThan(packs - 100);
    expect(kept.length).toBeLessThan(packs);
    expect([kept[0], kept.at(-1)]).toEqual([0, packs - 1]);
    outbox.add(payloadOf(packs), "live");
    outbox.close();
    expect(numbersIn(place.open())).toEqual([...kept, packs]);
  });

  it("is noticed when a single pack is not what was written", () => {
    scribble(Math.floor(statSync(file()).size / 2 / 4096) * 4096 + 2_000, 20);
    const outbox = place.open();
    const kept = numbersIn(outbox);
    expectSetAside(outbox);
    expect(kept).toHaveLength(packs - 1);
    expect(outbox.packs).toBe(packs - 1);
  });

  it("is set aside when it is torn while it is used, and sending goes on with what can be read", () => {
    const before = place.open();
    addUpTo(before, 4 * packs, packs);
    before.close();
    const outbox = place.open();
    for (const { payload } of outbox.waiting("backlog")) if (payload === payloadOf(10)) break;
    // Early in the file: SQLite has the last 2 MB that it read in memory.
    scribble(Math.floor(statSync(file()).size / 4 / 4096) * 4096, 3 * 4096);
    const kept = numbersIn(outbox);
    expectSetAside(outbox);
    expect(kept.length).toBeGreaterThan(4 * packs - 100);
    expect([kept[0], kept.at(-1)]).toEqual([0, 4 * packs - 1]);
    expect(outbox.packs).toBe(kept.length);
    receiptAll(outbox);
    place.pass(10_000);
    expect(outbox.packs).toBe(0);
    outbox.close();
    expect(place.open().packs).toBe(0);
  });

  it("loses nothing of what was in hand when it is torn there too", () => {
    const before = place.open();
    addUpTo(before, 4 * packs, packs);
    before.close();
    const outbox = place.open();
    for (const { payload } of outbox.waiting("backlog")) if (payload === payloadOf(10)) break;
    scribble(3 * 4096, 4096);
    scribble(Math.floor(statSync(file()).size / 4 / 4096) * 4096, 4096);
    const kept = numbersIn(outbox);
    expectSetAside(outbox);
    expect(kept.slice(0, 64)).toEqual(upTo(64));
    outbox.close();
    expect(numbersIn(place.open())).toEqual(kept);
  });

  it.each([
    ["cut off in its middle", () => truncateSync(file(), Math.floor(statSync(file()).size / 2 / 4096) * 4096)],
    ["garbage", () => writeFileSync(file(), "no database at all, but long enough to look at twice. ".repeat(100))],
    [
      "emptied beside its log",
      () => {
        truncateSync(file());
        writeFileSync(`${file()}-wal`, "a log");
      },
    ],
  ])("is set aside when it is %s, and a new one is begun", (_how, damage) => {
    damage();
    const outbox = place.open();
    expectSetAside(outbox);
    outbox.add(payloadOf(packs), "live");
    outbox.close();
    const kept = numbersIn(place.open());
    expect(kept.at(-1)).toBe(packs);
    expect(place.messages.filter((message) => message.includes("was damaged"))).toHaveLength(1);
  });

  it("leaves the newest three of those set aside, so that they cannot fill the card", () => {
    for (let n = 0; n < 5; n += 1) {
      vi.advanceTimersByTime(1_000);
      writeFileSync(file(), "garbage ".repeat(200));
      place.open().close();
    }
    expect(asides()).toHaveLength(3);
  });
});
