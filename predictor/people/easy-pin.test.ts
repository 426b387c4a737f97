import { describe, expect, it } from "vitest";
import { isEasyPin } from "./easy-pin.ts";

describe("an easy PIN", () => {
  it.each([
    "0000",
    "777777",
    "1234",
    "9876",
    "7890",
    "2109",
    "123456",
    "2468",
    "1212",
    "4545",
    "123123",
    "1999",
    "2031",
  ])("is %s", (pin) => expect(isEasyPin(pin)).toBe(true));

  it.each(["7294", "1243", "1122", "1221", "1899", "2100", "199900", "12312"])("is not %s", (pin) =>
    expect(isEasyPin(pin)).toBe(false),
  );

  it("is one of few among those of four digits, so that guessing the others stays long", () => {
    const all = Array.from({ length: 10_000 }, (_, number) => String(number).padStart(4, "0"));
    const refused = all.filter(isEasyPin).length;
    console.log(`easy PINs refused: ${refused} of ${all.length} of four digits`);
    // In even steps 100, other repeated pairs 80, years 200; 1919, 1975, 2020 and 2086 are two of these at once.
    expect(refused).toBe(376);
  });
});
