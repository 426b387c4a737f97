import { describe, expect, it } from "vitest";
import { printable } from "./printable.ts";

describe("printable", () => {
  it.each(["Größe 20 °C, 55 µm – „äöüß“ €", "", "naïve café · Œuvre", "e\u0308"])("leaves %j whole", (content) => {
    expect(printable(content)).toEqual({ text: content.normalize("NFC"), isWhole: true });
  });
  it.each([
    ["−3 °C ≥ 5, μm, 7\u202fpm", "-3 °C >= 5, µm, 7\u00a0pm"],
    ["two\nlines\tand\u0000", "two lines and "],
  ])("writes %j in letters that there are", (content, text) => {
    expect(printable(content)).toEqual({ text, isWhole: true });
  });
  it.each([
    ["Şahin Ğ ő", "Sahin G o"],
    ["Łódź", "?ódz"],
    ["Юлия", "????"],
    ["車 🚗", "? ?"],
    ["\ud800", "?"],
  ])("says of %j that it is not whole", (content, text) => {
    expect(printable(content)).toEqual({ text, isWhole: false });
  });
});
