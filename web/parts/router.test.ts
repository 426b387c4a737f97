import { describe, expect, it } from "vitest";
import { isElsewhere, matched, ownPath, signInPath } from "./router.ts";

describe("matched", () => {
  it("gives the named parts of an address, decoded", () => {
    expect(matched("/cars/:car/finish", "/cars/a%2Fb/finish")).toEqual({ car: "a/b" });
    expect(matched("/", "/")).toEqual({});
    expect(matched("/mix", "/mix/")).toEqual({});
  });
  it("gives null for another address, an empty part, and one that can't be decoded", () => {
    expect(matched("/cars/:car", "/cars/1/card")).toBeNull();
    expect(matched("/cars/:car", "/coats/1")).toBeNull();
    expect(matched("/cars/:car", "/cars/")).toBeNull();
    expect(matched("/cars/:car", "/cars/%E0")).toBeNull();
  });
});

describe("isElsewhere", () => {
  it("tells the phone's pages from the desk's, and both from all else", () => {
    expect(["/", "/cars/1", "/logs"].filter((path) => isElsewhere(path, "/mix"))).toEqual([]);
    expect(["/log", "/log/c1", "/sheets", "/sensors"].filter((path) => isElsewhere(path, "/log"))).toEqual([]);
    for (const [path, from] of [
      ["/log", "/"],
      ["/", "/log/c1"],
      ["/wall/booth", "/"],
      ["/api/coats/1", "/log"],
    ] as const)
      expect(isElsewhere(path, from)).toBe(true);
  });
});

describe("ownPath", () => {
  it("leads nowhere but to these pages", () => {
    expect(ownPath("/cars/1/finish?sheet=2")).toBe("/cars/1/finish?sheet=2");
    for (const asked of [null, "", "cars", "//elsewhere.example", "/\\elsewhere.example", "https://elsewhere.example"])
      expect(ownPath(asked)).toBe("/");
  });
  it("takes back what signInPath wrote", () => {
    const path = signInPath("/mix", "?car=1&panel=front door");
    expect(ownPath(new URLSearchParams(path.slice(path.indexOf("?"))).get("to"))).toBe("/mix?car=1&panel=front door");
    expect(signInPath("/sign-in", "?to=%2Fmix")).toBe("/sign-in?to=%2Fmix");
  });
});
