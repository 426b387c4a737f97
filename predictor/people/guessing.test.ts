/** How the guessing of PINs is made slow, and that it keeps nobody who works from working. */
import { performance } from "node:perf_hooks";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import type { By } from "../records/records.ts";
import { elsewhere, keyOf, on, refusalOf, strange } from "./example-people.ts";
import { People, SignInFault } from "./people.ts";
import { PinBusy } from "./pin.ts";

const pin = "7294";
const installer: By = { who: "Ina", role: "installer" };
const minuteMs = 60_000;
const dayMs = 24 * 60 * minuteMs;

let nowMs: number;
let people: People;
beforeEach(async () => {
  nowMs = Date.parse("2026-03-02T08:00:00Z");
  people = await People.open({
    file: ":memory:",
    records: { addPersonEvent: () => undefined },
    now: () => nowMs,
    rehearsalPin: null,
  });
  await people.setUp(people.setUpToken() ?? "", "Ina", pin);
  await people.add("Paul", "painter", "5827", installer);
});
afterEach(() => people.close());

const wrong = (from = strange) => refusalOf(people.signIn("Paul", "0000", from));

describe("wrong PINs", () => {
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
    const tries = [wrong(), people.signIn("Paul", "5827", strange), wrong(), wrong()];
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
    const { device } = await people.signIn("Paul", "5827", strange);
    for (let tries = 0; tries < 5; tries++) await wrong();
    expect(await keyOf(people.signIn("Paul", "5827", strange))).toBe("sign-in.wait");
    expect((await people.signIn("Paul", "5827", on(device))).person.name).toBe("Paul");
    expect((await people.signIn("Ina", pin, strange)).person.name).toBe("Ina");
  });

  it("on the phone one uses count there, and are forgiven by the right one", async () => {
    const { device } = await people.signIn("Paul", "5827", strange);
    for (let tries = 0; tries < 4; tries++) await wrong(on(device));
    await people.signIn("Paul", "5827", on(device));
    for (let tries = 0; tries < 4; tries++) expect((await wrong(on(device))).text.key).toBe("sign-in.wrong");
  });

  it("are forgiven by a new PIN, which also makes strange every device that knew the old one", async () => {
    const { device, session } = await people.signIn("Paul", "5827", strange);
    for (let tries = 0; tries < 5; tries++) await wrong();
    await people.change("Paul", { pin: "6193" }, installer);
    expect(people.signedIn(session)).toBeNull();
    expect(await keyOf(people.signIn("Paul", "5827", on(device)))).toBe("sign-in.wrong");
    expect((await people.signIn("Paul", "6193", strange)).person.name).toBe("Paul");
  });
});

describe("a clock that is set back", () => {
  it("lets one wait as long as one would have, and not until it has caught up", async () => {
    const { device } = await people.signIn("Paul", "5827", strange);
    for (let tries = 0; tries < 5; tries++) await wrong();
    for (let tries = 0; tries < 5; tries++) await wrong(on(device));
    nowMs -= 90 * dayMs;
    expect((await wrong()).untilMs).toBe(nowMs + minuteMs);
    expect((await wrong(on(device))).untilMs).toBe(nowMs + minuteMs);
    nowMs += minuteMs;
    expect((await people.signIn("Paul", "5827", strange)).person.name).toBe("Paul");
    expect((await people.signIn("Paul", "5827", on(device))).person.name).toBe("Paul");
  });
});

describe("one address", () => {
  /** Each under another name, so that the address alone is what they have in common. */
  const guesses = async (count: number, from = strange) => {
    const keys: string[] = [];
    for (let number = 0; number < count; number++) {
      keys.push(await keyOf(people.signIn(`Nobody ${from.address} ${number}`, "0000", from)));
    }
    return keys;
  };

  it("may try under many names ten times for nothing, then waits twice as long each time", async () => {
    expect(new Set(await guesses(11))).toEqual(new Set(["sign-in.wrong"]));
    expect(await keyOf(people.signIn("Paul", "5827", strange))).toBe("sign-in.wait-address");
    nowMs += minuteMs;
    expect(await guesses(2)).toEqual(["sign-in.wrong", "sign-in.wait-address"]);
    expect((await refusalOf(people.signIn("Ina", pin, strange))).untilMs).toBe(nowMs + 2 * minuteMs);
  });

  it("that waits keeps neither another from signing in, nor a phone at the same one that is known", async () => {
    const { device } = await people.signIn("Paul", "5827", strange);
    await guesses(12);
    expect((await people.signIn("Paul", "5827", on(device))).person.name).toBe("Paul");
    expect((await people.signIn("Ina", pin, elsewhere(1))).person.name).toBe("Ina");
    // Known is a phone to whom it belongs, and to nobody else.
    expect(await keyOf(people.signIn("Ina", pin, on(device)))).toBe("sign-in.wait-address");
  });

  it("is not held to account for right PINs", async () => {
    for (let times = 0; times < 15; times++) await people.signIn("Paul", "5827", strange);
  });
});

describe("many at once", () => {
  it("leave the machine responsive, two at a time", async () => {
    let worstMs = 0;
    let last = performance.now();
    const beat = setInterval(() => {
      worstMs = Math.max(worstMs, performance.now() - last);
      last = performance.now();
    }, 5);
    const flood = Array.from({ length: 60 }, (_, number) =>
      people.signIn(`Nobody ${number}`, "0000", elsewhere(number)).catch((error: unknown) => error),
    );
    const refused = await Promise.all(flood);
    clearInterval(beat);
    console.log(`60 sign-ins at once: longest pause ${worstMs.toFixed(0)} ms`);
    expect(refused.filter((error) => error instanceof SignInFault)).toHaveLength(22);
    expect(refused.filter((error) => error instanceof PinBusy)).toHaveLength(38);
    expect(worstMs).toBeLessThan(1_000);
  });

  it("of strangers are overtaken by a phone that is known, and do not send it away", async () => {
    const { device } = await people.signIn("Paul", "5827", strange);
    let looked = 0;
    const flood = Array.from({ length: 60 }, (_, number) =>
      people
        .signIn(`Nobody ${number}`, "0000", elsewhere(number))
        .catch((error: unknown) => (error instanceof SignInFault ? looked++ : error)),
    );
    expect((await people.signIn("Paul", "5827", on(device))).person.name).toBe("Paul");
    // The two whose PINs were looked at already, and one that took a place meanwhile.
    expect(looked).toBeLessThanOrEqual(3);
    await Promise.all(flood);
    expect(looked).toBe(22);
  });
});
