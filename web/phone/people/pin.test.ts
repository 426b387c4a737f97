import { describe, expect, it } from "vitest";
import { newPinFault } from "./pin.ts";

describe("newPinFault", () => {
  it("wants 4 to 12 digits, and the same ones again", () => {
    expect(newPinFault("5827", "5827")).toBeNull();
    expect(newPinFault("582719403625", "582719403625")).toBeNull();
    for (const pin of ["", "123", "12a4", "5827194036251"]) expect(newPinFault(pin, pin)).toBe("pin.too-short");
    expect(newPinFault("5827", "5828")).toBe("pin.not-same");
  });
});
