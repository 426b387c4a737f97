import { mkdtempSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { performance } from "node:perf_hooks";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { RecordFault } from "../records/record-fault.ts";
import type { By, PersonEvent } from "../records/records.ts";
import { keyOf, on, refusalOf, strange } from "./example-people.ts";
import { People } from "./people.ts";

const pin = "7294";
const installer: By = { who: "Ina", role: "installer" };
const hourMs = 3_600_000;

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
describe("the first start", () => {
  it("makes an installer with the link's token, once", async () => {
    const token = people.setUpToken();
    expect(await keyOf(people.setUp("wrong", "Eve", pin))).toBe("sign-in.set-up-wrong");
    const { person, session } = await setUp();
    expect(person).toEqual({ name: "Ina", role: "installer", isActive: true });
    expect(people.signedIn(session)).toEqual(person);
    expect(people.setUpToken()).toBeNull();
    expect(await keyOf(people.setUp(token ?? "", "Eve", pin))).toBe("sign-in.set-up-done");
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
    people = await open("3816");
    expect(people.setUpToken()).toBeNull();
    expect((await people.signIn("Painter A", "3816", strange)).person.role).toBe("painter");
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
    await people.add("Paul", "painter", "5827", installer);
  });

  it("takes name and PIN, whatever the capitals, and refuses a wrong one in the same words", async () => {
    expect((await people.signIn("paul", "5827", strange)).person.name).toBe("Paul");
    expect(await keyOf(people.signIn("Paul", "0000", strange))).toBe("sign-in.wrong");
    expect(await keyOf(people.signIn("Nobody", "0000", strange))).toBe("sign-in.wrong");
  });

  it("takes a name in any spelling that is the same", async () => {
    await people.add("Jürgen", "painter", "5827", installer);
    for (const name of ["JÜRGEN", "jürgen", "Ju\u0308rgen"]) {
      const { person, device } = await people.signIn(name, "5827", strange);
      expect(person.name).toBe("Jürgen");
      expect((await people.signIn("Jürgen", "5827", on(device))).device).toBe(device);
    }
  });

  it("knows a device by a token that was made here, and by none that the device made up", async () => {
    const madeUp = "M".repeat(43);
    const { device } = await people.signIn("Paul", "5827", on(madeUp));
    expect(device).not.toBe(madeUp);
    expect((await people.signIn("Paul", "5827", on(device))).device).toBe(device);
    // A tablet that two share is known to both.
    expect((await people.signIn("Ina", pin, on(device))).device).toBe(device);
  });

  it("with the old PIN comes too late when a new one was given meanwhile", async () => {
    const late = people.signIn("Paul", "5827", strange);
    await people.change("Paul", { isActive: false }, installer);
    expect(await keyOf(late)).toBe("sign-in.wrong");
  });

  it("takes as long for a name that there is not", async () => {
    const timeOf = async (name: string) => {
      const before = performance.now();
      await refusalOf(people.signIn(name, "0000", strange));
      return performance.now() - before;
    };
    const [known, unknown] = [await timeOf("Paul"), await timeOf("Nobody")];
    expect(unknown / known).toBeGreaterThan(0.3);
    expect(unknown / known).toBeLessThan(3);
  });

  it("lasts over a restart, ends twelve hours after its last use, and after a week in any case", async () => {
    const { session } = await people.signIn("Paul", "5827", strange);
    people.close();
    people = await open();
    for (let hours = 0; hours < 160; hours += 10) {
      expect(people.signedIn(session)?.name).toBe("Paul");
      nowMs += 10 * hourMs;
    }
    nowMs += 9 * hourMs;
    expect(people.signedIn(session)).toBeNull();
    const { session: idle } = await people.signIn("Paul", "5827", strange);
    nowMs += 12 * hourMs;
    expect(people.signedIn(idle)).toBeNull();
  });

  it("ends with signing out, and nobody else's does", async () => {
    const one = await people.signIn("Paul", "5827", strange);
    const other = await people.signIn("Ina", pin, strange);
    people.signOut(one.session);
    expect(people.signedIn(one.session)).toBeNull();
    expect(people.signedIn(other.session)?.name).toBe("Ina");
    for (const token of ["", "x", `${other.session}x`]) expect(people.signedIn(token)).toBeNull();
  });
});

describe("changes", () => {
  beforeEach(async () => {
    await setUp();
    await people.add("Paul", "painter", "5827", installer);
    recorded = [];
  });

  it("are recorded by name and never with a PIN", async () => {
    await people.change("Paul", { role: "quality", pin: "9274" }, installer);
    expect(recorded).toEqual([{ event: "changed", name: "Paul", change: "role quality, new PIN" }]);
    await people.change("Paul", { role: "quality" }, installer);
    expect(recorded).toHaveLength(1);
  });

  it("end at once what a person who left could do", async () => {
    const { session } = await people.signIn("Paul", "5827", strange);
    await people.change("Paul", { isActive: false }, installer);
    expect(people.signedIn(session)).toBeNull();
    expect(await keyOf(people.signIn("Paul", "5827", strange))).toBe("sign-in.wrong");
  });

  it("refuse a second of the same name, in whatever spelling", async () => {
    await people.add("Jürgen", "painter", "5827", installer);
    for (const name of ["JÜRGEN", "Ju\u0308rgen"]) {
      await expect(people.add(name, "painter", "5827", installer)).rejects.toThrow(/someone named Jürgen already/);
    }
    await people.change("JU\u0308RGEN", { role: "quality" }, installer);
    expect(people.list()).toContainEqual({ name: "Jürgen", role: "quality", isActive: true });
  });

  it("refuse a PIN that is easy to guess, at each way to get one", async () => {
    const { session } = await people.signIn("Paul", "5827", strange);
    const here = { session, device: null };
    await expect(people.add("Eve", "painter", "1234", installer)).rejects.toThrow(/first that anyone would try/);
    await expect(people.change("Paul", { pin: "1212" }, installer)).rejects.toThrow(RecordFault);
    await expect(people.changeOwnPin("5827", "1987", here)).rejects.toThrow(RecordFault);
    expect(people.list()).toHaveLength(2);
    await people.changeOwnPin("5827", "1988074", here);
  });

  it("refuse someone who is not there, and the end of the last installer", async () => {
    await expect(people.change("Eve", { role: "painter" }, installer)).rejects.toThrow(/nobody named Eve/);
    await expect(people.change("Ina", { role: "painter" }, installer)).rejects.toThrow(/must be left who installs/);
    await expect(people.change("Ina", { isActive: false }, installer)).rejects.toThrow(/must be left who installs/);
    await people.add("Ines", "installer", "4096", installer);
    await people.change("Ina", { isActive: false }, installer);
  });

  it("of one's own PIN ask for the present one, and end one's other sessions", async () => {
    const here = await people.signIn("Paul", "5827", strange);
    const there = await people.signIn("Paul", "5827", strange);
    expect(await keyOf(people.changeOwnPin("0000", "6193", here))).toBe("sign-in.wrong");
    await people.changeOwnPin("5827", "6193", here);
    expect(people.signedIn(here.session)?.name).toBe("Paul");
    expect(people.signedIn(there.session)).toBeNull();
    expect((await people.signIn("Paul", "6193", strange)).person.name).toBe("Paul");
    expect(await keyOf(people.changeOwnPin("6193", "5827", there))).toBe("sign-in.needed");
  });

  it("of one's own PIN leave the phone known that it is changed on, and make the others strange", async () => {
    const here = await people.signIn("Paul", "5827", strange);
    const there = await people.signIn("Paul", "5827", strange);
    await people.changeOwnPin("5827", "6193", here);
    for (let tries = 0; tries < 5; tries++) await refusalOf(people.signIn("Paul", "0000", strange));
    expect((await people.signIn("Paul", "6193", on(here.device))).device).toBe(here.device);
    expect(await keyOf(people.signIn("Paul", "6193", on(there.device)))).toBe("sign-in.wait");
  });

  it("at the machine hand over a PIN to whoever has forgotten theirs, and make an installer when none is left", async () => {
    const handed = await people.handOverPin("Paul", { asInstaller: false });
    expect(handed).toMatch(/^\d{6}$/);
    expect((await people.signIn("Paul", handed, strange)).person.role).toBe("painter");
    await expect(people.handOverPin("Eve", { asInstaller: false })).rejects.toThrow(/nobody named Eve/);
    const first = await people.handOverPin("Eve", { asInstaller: true });
    expect((await people.signIn("Eve", first, strange)).person.role).toBe("installer");
  });
});
