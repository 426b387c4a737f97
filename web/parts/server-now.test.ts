import { expect, it } from "vitest";
import { serverNow } from "./server-now.ts";

it("goes by this machine's clock until the server speaks, then by the server's and monotonic time alone", () => {
  let monotonic = 1000;
  let wall = 5_000_000;
  const clock = serverNow(
    () => monotonic,
    () => wall,
  );
  expect(clock.nowMs()).toBe(5_000_000);
  clock.learn("2026-03-02T08:00:00Z");
  wall = 0;
  monotonic += 2500;
  expect(clock.nowMs()).toBe(Date.UTC(2026, 2, 2, 8) + 2500);
  clock.learn("not an instant");
  expect(clock.nowMs()).toBe(Date.UTC(2026, 2, 2, 8) + 2500);
});
