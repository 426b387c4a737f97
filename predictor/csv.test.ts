import { parse } from "csv-parse/sync";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { csvLine } from "./csv.ts";

describe("csvLine", () => {
  it("writes what RFC 4180 asks for", () => {
    // RFC 4180, section 2, rules 5 to 7.
    expect(csvLine(["aaa", "b\r\nbb", "ccc"])).toBe('aaa,"b\r\nbb",ccc\r\n');
    expect(csvLine(["aaa", 'b"bb', "c,c"])).toBe('aaa,"b""bb","c,c"\r\n');
    expect(csvLine([1.5, null, true, Number.NaN, -3])).toBe("1.5,,true,,-3\r\n");
  });
  it("lets no text become a formula in a spreadsheet", () => {
    for (const text of ["=1+1", "+49", "-1", "@SUM(A1)", "\tx", "\rx"]) expect(csvLine([text])).toMatch(/^"?'/);
  });
  it("gives back any other text, read by a general reader", () => {
    const texts = fc.array(
      fc.string({ unit: "binary" }).filter((text) => !/^[=+\-@\t\r]/.test(text)),
      { minLength: 1, maxLength: 5 },
    );
    fc.assert(
      fc.property(texts, (cells) => {
        expect(parse(csvLine(["x", ...cells]))).toEqual([["x", ...cells]]);
      }),
    );
  });
});
