import { describe, expect, it } from "vitest";
import { newPinFault } from "./pin.ts";

describe("newPinFault", () => {
  it("wants 4 to 12 digits, and the same ones again", () => {
    expect(newPinFault("1234", "1234")).toBeNull();
    expect(newPinFault("123456789012", "123456789012")).toBeNull();
    for (const pin of ["", "123", "12a4", "1234567890123"]) expect(newPinFault(pin, pin)).toBe("pin.too-short");
    expect(newPinFault("1234", "1235")).toBe("pin.not-same");
  });
});
