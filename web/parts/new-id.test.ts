import { describe, expect, it } from "vitest";
import { newId } from "./new-id.ts";

describe("newId", () => {
  it("is 22 letters and digits, another each time, and uses all of them", () => {
    const ids = Array.from({ length: 500 }, newId);
    expect(ids.every((id) => /^[A-Za-z0-9]{22}$/.test(id))).toBe(true);
    expect(new Set(ids).size).toBe(500);
    expect(new Set(ids.join("")).size).toBe(62);
  });
});
