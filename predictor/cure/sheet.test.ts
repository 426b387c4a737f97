import { describe, expect, it } from "vitest";
import { sheetOf } from "./example-coat.ts";
import { sheetSchema } from "./sheet.ts";

const stages = [{ stage: "demask", minutesAtC: { 20: 30 } }];
const read = (more: object) => sheetSchema.safeParse(sheetOf(stages, more));
const faultsOf = (more: object) => read(more).error?.issues.map(({ path, message }) => `${path.join(".")}: ${message}`);
const paint = { component: "paint", parts: 2 };

describe("a sheet's mix", () => {
  it("is parts by volume of components that are each named once", () => {
    expect(faultsOf({ mix: [paint, { component: "hardener", parts: 0.5 }] })).toBeUndefined();
    expect(faultsOf({ mix: [paint, paint] })).toEqual(["mix: expected each component once"]);
    expect(faultsOf({ mix: [{ ...paint, parts: 0 }] })).toEqual([expect.stringMatching(/^mix\.0\.parts: /)]);
    expect(faultsOf({ mix: [{ ...paint, parts: -1 }] })).toEqual([expect.stringMatching(/^mix\.0\.parts: /)]);
    expect(faultsOf({ mix: [{ ...paint, component: "" }] })).toEqual([expect.stringMatching(/^mix\.0\.component: /)]);
    expect(faultsOf({ mix: [] })).toEqual([expect.stringMatching(/^mix: /)]);
  });

  it("may come with whole coats and with the square metres of a wipe, above nothing", () => {
    expect(read({ usualCoats: 2, squareMetresPerWipe: 0.5 }).data).toMatchObject({ usualCoats: 2 });
    expect(faultsOf({ usualCoats: 1.5 })).toEqual([expect.stringMatching(/^usualCoats: /)]);
    expect(faultsOf({ squareMetresPerWipe: 0 })).toEqual([expect.stringMatching(/^squareMetresPerWipe: /)]);
  });
});
