import { parse } from "csv-parse/sync";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { csvText } from "./csv.ts";

describe("csvText", () => {
  it("ends each line with CR LF, and quotes what would break a line or a cell", () => {
    expect(
      csvText(
        ["a", "b"],
        [
          ['x"y', "1,5"],
          [null, -0.5],
        ],
      ),
    ).toBe('a,b\r\n"x""y","1,5"\r\n,-0.5\r\n');
  });
  it.each(["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx"])("defuses %j", (text) => {
    expect(parse(csvText(["a"], [[text]]), { relax_column_count: true })[1]).toEqual([`'${text}`]);
  });
  it("comes back from a parser as it went in, but for what was defused", () => {
    const cell = fc.string().map((text) => `x${text}`);
    fc.assert(
      fc.property(fc.array(fc.tuple(cell, cell), { minLength: 1 }), (rows) => {
        expect(parse(csvText(["a", "b"], rows)).slice(1)).toEqual(rows);
      }),
    );
  });
});
