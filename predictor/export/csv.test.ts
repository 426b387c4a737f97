import { parse } from "csv-parse/sync";
import fc from "fast-check";
import { expect, it } from "vitest";
import { csvRow } from "./csv.ts";

it("quotes what RFC 4180 has quoted, and ends each row with CRLF", () => {
  expect(csvRow(["plain", 'a "word"', "a,b", "two\nlines", null, 1.5])).toBe(
    'plain,"a ""word""","a,b","two\nlines",,1.5\r\n',
  );
});

it.each(["=1+1", "+1", "-1", "@now", "\tx", "\rx"])("defuses %j for spreadsheets", (text) => {
  const [[cell]] = parse(csvRow([text])) as [[string]];
  expect(cell).toBe(`'${text}`);
});

it("leaves numbers as they are", () => {
  expect(csvRow([-3.5, 1e-7])).toBe("-3.5,1e-7\r\n");
});

it("can be read back by a reader that knows nothing of it", () => {
  fc.assert(
    fc.property(fc.array(fc.string({ unit: "grapheme" }), { minLength: 2, maxLength: 5 }), (texts) => {
      const [row] = parse(csvRow(texts), { record_delimiter: "\r\n" }) as string[][];
      expect(row).toEqual(texts.map((text) => (/^[=+\-@\t\r]/.test(text) ? `'${text}` : text)));
    }),
  );
});
