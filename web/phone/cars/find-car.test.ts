import { expect, it } from "vitest";
import { isFound } from "./find-car.ts";

const car = { job: "XY-AB 12-34", name: "Grüner Kombi" };

it("finds a car by a part of its plate or name, whatever the spaces, dashes and capitals", () => {
  for (const asked of ["", "ab12", "AB 1234", "xyab", "grüner", "KOMBI"]) expect(isFound(car, asked), asked).toBe(true);
  for (const asked of ["ab13", "blau"]) expect(isFound(car, asked), asked).toBe(false);
});
