import { mkdtempSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { performance } from "node:perf_hooks";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { RecordFault } from "../records/record-fault.ts";
import type { By, PersonEvent } from "../records/records.ts";
import { People, SignInFault } from "./people.ts";

const pin = "4711";
const installer: By = { who: "Ina", role: "installer" };
const minuteMs = 60_000;
const hourMs = 60 * minuteMs;

let folder: string;
let nowMs: number;
let recorded: PersonEvent[];
let people: People;

const open = (rehearsalPin: string | null = null) =>
  People.open({
    file: join(folder, "people.db"),
    records: { addPersonEvent: (event) => recorded.push(event) },
    now: () => nowMs,
    rehearsalPin,
  });

beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), "coatclock-people-"));
  nowMs = Date.parse("2026-03-02T08:00:00Z");
  recorded = [];
  people = await open();
});
afterEach(() => {
  people.close();
  rmSync(folder, { recursive: true });
});

const setUp = () => people.setUp(people.setUpToken() ?? "", "Ina", pin);
const refusal = async (attempt: Promise<unknown>) => {
  const fault: unknown = await attempt.then(
    () => null,
    (error: unknown) => error,
  );
  if (!(fault instanceof SignInFault)) throw fault ?? new Error("it was let in");
  return fault;
};
const key = async (attempt: Promise<unknown>) => (await refusal(attempt)).text.key;

describe("the first start", () => {
  it("makes an installer with the link's token, once", async () => {
    const token = people.setUpToken();
    expect(await key(people.setUp("wrong", "Eve", pin))).toBe("sign-in.set-up-wrong");
    const { person, session } = await setUp();
    expect(person).toEqual({ name: "Ina", role: "installer", isActive: true });
    expect(people.signedIn(session)).toEqual(person);
    expect(people.setUpToken()).toBeNull();
    expect(await key(people.setUp(token ?? "", "Eve", pin))).toBe("sign-in.set-up-done");
    expect(recorded).toEqual([{ event: "added", name: "Ina", role: "installer" }]);
  });

  it("lets only one of two who use the link at once", async () => {
    const token = people.setUpToken() ?? "";
    const both = await Promise.allSettled([people.setUp(token, "Ina", pin), people.setUp(token, "Eve", pin)]);
    expect(both.map(({ status }) => status).sort()).toEqual(["fulfilled", "rejected"]);
    expect(people.list()).toHaveLength(1);
  });

  it("of a rehearsal has invented people there already", async () => {
    people.close();
    people = await open("2468");
    expect(people.setUpToken()).toBeNull();
    expect((await people.signIn("Painter A", "2468", null)).person.role).toBe("painter");
  });
});

describe("a file of people", () => {
  it("can be read by nobody else on the machine, and holds no PIN and no session", async () => {
    const { session } = await setUp();
    for (const suffix of ["", "-wal"]) expect(statSync(join(folder, `people.db${suffix}`)).mode & 0o077).toBe(0);
    people.close();
    const { readFileSync } = await import("node:fs");
    const bytes = readFileSync(join(folder, "people.db")).toString("latin1");
    expect(bytes).toContain("Ina");
    expect(bytes).not.toContain(session);
    people = await open();
  });
});

describe("signing in", () => {
  beforeEach(async () => {
    await setUp();
    await people.add("Paul", "painter", "1234", installer);
  });

  it("takes name and PIN, whatever the capitals, and refuses a wrong one in the same words", async () => {
    expect((await people.signIn("paul", "1234", null)).person.name).toBe("Paul");
    expect(await key(people.signIn("Paul", "0000", null))).toBe("sign-in.wrong");
    expect(await key(people.signIn("Nobody", "0000", null))).toBe("sign-in.wrong");
  });

  it("takes as long for a name that there is not", async () => {
    const timeOf = async (name: string) => {
      const before = performance.now();
      await refusal(people.signIn(name, "0000", null));
      return performance.now() - before;
    };
    const [known, unknown] = [await timeOf("Paul"), await timeOf("Nobody")];
    expect(unknown / known).toBeGreaterThan(0.3);
    expect(unknown / known).toBeLessThan(3);
  });

  it("lasts over a restart, ends twelve hours after its last use, and after a week in any case", async () => {
    const { session } = await people.signIn("Paul", "1234", null);
    people.close();
    people = await open();
    for (let hours = 0; hours < 160; hours += 10) {
      expect(people.signedIn(session)?.name).toBe("Paul");
      nowMs += 10 * hourMs;
    }
    nowMs += 9 * hourMs;
    expect(people.signedIn(session)).toBeNull();
    const { session: idle } = await people.signIn("Paul", "1234", null);
    nowMs += 12 * hourMs;
    expect(people.signedIn(idle)).toBeNull();
  });

  it("ends with signing out, and nobody else's does", async () => {
    const one = await people.signIn("Paul", "1234", null);
    const other = await people.signIn("Ina", pin, null);
    people.signOut(one.session);
    expect(people.signedIn(one.session)).toBeNull();
    expect(people.signedIn(other.session)?.name).toBe("Ina");
    for (const token of ["", "x", `${other.session}x`]) expect(people.signedIn(token)).toBeNull();
  });
});

describe("wrong PINs", () => {
  beforeEach(async () => {
    await setUp();
    await people.add("Paul", "painter", "1234", installer);
  });
  const wrong = (device: string | null = null) => refusal(people.signIn("Paul", "0000", device));

  it("cost nothing at first, then a minute, then twice as long each time", async () => {
    for (let tries = 0; tries < 5; tries++) expect((await wrong()).text.key).toBe("sign-in.wrong");
    const locked = await wrong();
    expect(locked.text.key).toBe("sign-in.wait");
    expect(locked.untilMs).toBe(nowMs + minuteMs);
    nowMs += minuteMs;
    expect((await wrong()).text.key).toBe("sign-in.wrong");
    expect((await wrong()).untilMs).toBe(nowMs + 2 * minuteMs);
  });

  it("are counted one by one when many are sent at once", async () => {
    const keys = (await Promise.all(Array.from({ length: 12 }, () => wrong()))).map(({ text }) => text.key);
    expect(keys.filter((each) => each === "sign-in.wrong")).toHaveLength(5);
    expect(keys.filter((each) => each === "sign-in.wait")).toHaveLength(7);
  });

  it("leave no trace of a right one that was looked at beside them", async () => {
    const tries = [wrong(), people.signIn("Paul", "1234", null), wrong(), wrong()];
    await Promise.all(tries);
    expect((await wrong()).text.key).toBe("sign-in.wrong");
    expect((await wrong()).text.key).toBe("sign-in.wrong");
    expect((await wrong()).text.key).toBe("sign-in.wait");
  });

  it("are ten a day at most on strange devices, so that a PIN of four digits takes years to guess", async () => {
    let tried = 0;
    for (let minutes = 0; minutes < 3 * 24 * 60; minutes += 5) {
      if ((await wrong()).text.key === "sign-in.wrong") tried += 1;
      nowMs += 5 * minuteMs;
    }
    // 10,000 PINs at so many a day: half of them are tried after more than a year.
    expect(tried).toBeLessThanOrEqual(30);
    expect(tried).toBeGreaterThan(20);
  }, 120_000);

  it("on strange devices keep nobody from the phone they use, nor the shop out", async () => {
    const { device } = await people.signIn("Paul", "1234", null);
    for (let tries = 0; tries < 5; tries++) await wrong();
    expect(await key(people.signIn("Paul", "1234", null))).toBe("sign-in.wait");
    expect((await people.signIn("Paul", "1234", device)).person.name).toBe("Paul");
    expect((await people.signIn("Ina", pin, null)).person.name).toBe("Ina");
  });

  it("on the phone one uses count there, and are forgiven by the right one", async () => {
    const { device } = await people.signIn("Paul", "1234", null);
    for (let tries = 0; tries < 4; tries++) await wrong(device);
    await people.signIn("Paul", "1234", device);
    for (let tries = 0; tries < 4; tries++) expect((await wrong(device)).text.key).toBe("sign-in.wrong");
  });

  it("are forgiven by a new PIN, which also makes strange every device that knew the old one", async () => {
    const { device, session } = await people.signIn("Paul", "1234", null);
    for (let tries = 0; tries < 5; tries++) await wrong();
    await people.change("Paul", { pin: "5678" }, installer);
    expect(people.signedIn(session)).toBeNull();
    expect(await key(people.signIn("Paul", "1234", device))).toBe("sign-in.wrong");
    expect((await people.signIn("Paul", "5678", null)).person.name).toBe("Paul");
  });

  it("of many at once leave the machine responsive, two at a time", async () => {
    let worstMs = 0;
    let last = performance.now();
    const beat = setInterval(() => {
      worstMs = Math.max(worstMs, performance.now() - last);
      last = performance.now();
    }, 5);
    const flood = Array.from({ length: 60 }, (_, index) =>
      people.signIn(`Nobody ${index}`, "0000", null).catch((error: unknown) => error),
    );
    const refused = await Promise.all(flood);
    clearInterval(beat);
    console.log(`60 sign-ins at once: longest pause ${worstMs.toFixed(0)} ms`);
    expect(refused.filter((error) => error instanceof SignInFault).length).toBeGreaterThanOrEqual(42);
    expect(refused.filter((error) => !(error instanceof SignInFault)).length).toBeGreaterThan(0);
    expect(worstMs).toBeLessThan(1_000);
  });
});

describe("changes", () => {
  beforeEach(async () => {
    await setUp();
    await people.add("Paul", "painter", "1234", installer);
    recorded = [];
  });

  it("are recorded by name and never with a PIN", async () => {
    await people.change("Paul", { role: "quality", pin: "9876" }, installer);
    expect(recorded).toEqual([{ event: "changed", name: "Paul", change: "role quality, new PIN" }]);
    await people.change("Paul", { role: "quality" }, installer);
    expect(recorded).toHaveLength(1);
  });

  it("end at once what a person who left could do", async () => {
    const { session } = await people.signIn("Paul", "1234", null);
    await people.change("Paul", { isActive: false }, installer);
    expect(people.signedIn(session)).toBeNull();
    expect(await key(people.signIn("Paul", "1234", null))).toBe("sign-in.wrong");
  });

  it("refuse a second of the same name, someone who is not there, and the end of the last installer", async () => {
    await expect(people.add("PAUL", "painter", "1234", installer)).rejects.toThrow(RecordFault);
    await expect(people.change("Eve", { role: "painter" }, installer)).rejects.toThrow(/nobody named Eve/);
    await expect(people.change("Ina", { role: "painter" }, installer)).rejects.toThrow(/must be left who installs/);
    await expect(people.change("Ina", { isActive: false }, installer)).rejects.toThrow(/must be left who installs/);
    await people.add("Ines", "installer", "4444", installer);
    await people.change("Ina", { isActive: false }, installer);
  });

  it("of one's own PIN ask for the present one, and end one's other sessions", async () => {
    const here = await people.signIn("Paul", "1234", null);
    const there = await people.signIn("Paul", "1234", null);
    expect(await key(people.changeOwnPin("Paul", "0000", "5678", here.session))).toBe("sign-in.wrong");
    await people.changeOwnPin("Paul", "1234", "5678", here.session);
    expect(people.signedIn(here.session)?.name).toBe("Paul");
    expect(people.signedIn(there.session)).toBeNull();
    expect((await people.signIn("Paul", "5678", null)).person.name).toBe("Paul");
  });

  it("at the machine hand over a PIN to whoever has forgotten theirs, and make an installer when none is left", async () => {
    const handed = await people.handOverPin("Paul", { asInstaller: false });
    expect(handed).toMatch(/^\d{6}$/);
    expect((await people.signIn("Paul", handed, null)).person.role).toBe("painter");
    await expect(people.handOverPin("Eve", { asInstaller: false })).rejects.toThrow(/nobody named Eve/);
    const first = await people.handOverPin("Eve", { asInstaller: true });
    expect((await people.signIn("Eve", first, null)).person.role).toBe("installer");
  });
});
