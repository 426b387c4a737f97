/** That the pages stay light: bytes are counted, so this can be asserted. npm run bench prints the figures. */
import { describe, expect, it } from "vitest";
import { languages } from "../words/language.ts";
import { bareWeight, pageWeight } from "./bench/page-weight.ts";

describe.each(["index.html", "wall.html"] as const)("%s", (document) => {
  it.each(languages)("weighs at most 2.5 times its bare libraries, in %s", async (language) => {
    const { atOnce, later } = pageWeight(document, language);
    const floor = await bareWeight();
    expect(floor).toBeGreaterThan(20_000);
    // A wall draws its code at once.
    expect(document === "wall.html" ? atOnce + later : atOnce).toBeLessThanOrEqual(2.5 * floor);
  });
});
