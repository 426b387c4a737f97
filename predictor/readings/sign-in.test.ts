import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it, vi } from "vitest";
import { addCollector, Credentials } from "./credentials.ts";
import { SignIn } from "./sign-in.ts";

const folder = mkdtempSync(join(tmpdir(), "coatclock-sign-in-"));
const file = join(folder, "collectors.yaml");
let password: Buffer;
beforeAll(() => {
  password = Buffer.from(addCollector(file, "booth").password);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const booth = { kind: "collector", name: "booth" };
const wrong = Buffer.from("wrong");

function signInWithClock() {
  const clock = { nowMs: 1_000 };
  const credentials = new Credentials(file);
  const tried = vi.spyOn(credentials, "isRight");
  return { signIn: new SignIn({ asks: true, credentials, nowMs: () => clock.nowMs }), clock, tried };
}

describe("signing in", () => {
  it("knows the program, a collector, and who gives no name", async () => {
    const { signIn } = signInWithClock();
    const { own } = signIn;
    expect(await signIn.check(own.username, Buffer.from(own.password), "192.0.2.1")).toEqual({ kind: "program" });
    expect(await signIn.check(own.username, wrong, "192.0.2.1")).toBe("wrong");
    expect(await signIn.check(own.username, undefined, "192.0.2.1")).toBe("wrong");
    expect(await signIn.check("booth", password, "192.0.2.1")).toEqual(booth);
    expect(await signIn.check("booth", undefined, "192.0.2.1")).toBe("wrong");
    expect(await signIn.check(undefined, undefined, "192.0.2.1")).toEqual({ kind: "anonymous" });
    expect(await signIn.check("", undefined, "192.0.2.1")).toEqual({ kind: "anonymous" });
    expect(await new SignIn({ asks: true, credentials: null }).check("booth", password, "192.0.2.1")).toBe("wrong");
  });

  it("tries ten wrong passwords of an address in one go and twelve a minute after, whatever the names", async () => {
    const { signIn, clock, tried } = signInWithClock();
    const guess = (n: number) => signIn.check(n % 2 === 0 ? "booth" : `name-${n}`, wrong, "192.0.2.1");
    const verdicts = await Promise.all(Array.from({ length: 100 }, (_, n) => guess(n)));
    expect(verdicts.filter((verdict) => verdict === "wrong")).toHaveLength(10);
    expect(verdicts.filter((verdict) => verdict === "too many wrong")).toHaveLength(90);
    for (let second = 0; second < 60; second++) {
      clock.nowMs += 1_000;
      await guess(second);
    }
    expect(tried.mock.calls.length).toBe(22);
    clock.nowMs += 3_600_000;
    expect(await guess(0)).toBe("wrong");
  });

  it("lets a collector in while others guess: from another address, and from the same one once it is known", async () => {
    const { signIn, clock } = signInWithClock();
    const flood = () => Promise.all(Array.from({ length: 30 }, () => signIn.check("booth", wrong, "192.0.2.1")));
    await flood();
    expect(await signIn.check("booth", password, "192.0.2.1")).toBe("too many wrong");
    expect(await signIn.check("booth", password, "192.0.2.2")).toEqual(booth);
    await flood();
    expect(await signIn.check("booth", password, "192.0.2.1")).toEqual(booth);
    clock.nowMs += 1;
  });

  it("lets a collector in within seconds once its wrong password was put right", async () => {
    const { signIn, clock } = signInWithClock();
    for (let n = 0; n < 30; n++) await signIn.check("booth", wrong, "192.0.2.1");
    clock.nowMs += 5_001;
    expect(await signIn.check("booth", password, "192.0.2.1")).toEqual(booth);
  });

  it("works out a password once for all who come at the same time", async () => {
    const { signIn, tried } = signInWithClock();
    await Promise.all(Array.from({ length: 20 }, () => signIn.check("booth", password, "192.0.2.1")));
    expect(tried.mock.calls.length).toBe(1);
  });
});
