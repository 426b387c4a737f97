/** How large the letters of a page are, for those who read it from across the shop. */
import type { Page } from "playwright-core";
import { z } from "zod";

/** A 43-inch screen of 1920×1080 pixels: mm for a pixel. */
const pixelMm = (43 * 25.4) / Math.hypot(1920, 1080);

/** Pixels that `arcMinutes` cover on that screen for an eye at `metres`. */
export const pixelsOf = (arcMinutes: number, metres: number): number =>
  (2 * metres * 1000 * Math.tan(((arcMinutes / 60 / 2) * Math.PI) / 180)) / pixelMm;

export interface Letters {
  text: string;
  /** Height of a capital H in CSS pixels. */
  px: number;
  /** Whether its own box or the screen cuts it off. */
  isCut: boolean;
}

/** Of each element that `selector` finds and that shows a text. Letters are measured large, so that no rounding to whole pixels flatters them. */
export async function lettersOf(page: Page, selector: string): Promise<Letters[]> {
  const found: unknown = await page.evaluate(`(() => {
    const pen = document.createElement("canvas").getContext("2d");
    return [...document.querySelectorAll(${JSON.stringify(selector)})].flatMap((element) => {
      const text = element.textContent.trim();
      if (text === "" || element.getClientRects().length === 0) return [];
      const { fontStyle, fontWeight, fontSize, fontFamily, fontStretch, display } = getComputedStyle(element);
      pen.font = fontStyle + " " + fontWeight + " 1000px " + fontFamily;
      pen.fontStretch = fontStretch === "75%" ? "condensed" : "normal";
      const px = (pen.measureText("H").actualBoundingBoxAscent / 1000) * Number.parseFloat(fontSize);
      const { left, right, top, bottom } = element.getBoundingClientRect();
      const inBox = display === "inline" || element.scrollWidth <= element.clientWidth + 1;
      const onScreen = left >= -1 && top >= -1 && right <= innerWidth + 1 && bottom <= innerHeight + 1;
      return [{ text, px, isCut: !(inBox && onScreen) }];
    });
  })()`);
  return z.array(z.object({ text: z.string(), px: z.number(), isCut: z.boolean() })).parse(found);
}
