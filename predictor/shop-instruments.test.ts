import { expect, it } from "vitest";
import { shopFileSchema } from "./shop-file.ts";
import { instrumentsOf, isCorrected } from "./shop-instruments.ts";

const shop = shopFileSchema.parse({
  shop: "invented",
  name: "Invented shop",
  places: {
    booth: {
      name: "Booth",
      kind: "booth",
      sensors: { "air-temperature": "pi/air", "air-humidity": "pi/air" },
      compare: { "air-humidity": "gateway/second" },
    },
    prep: { name: "Prep", kind: "prep", sensors: { "air-temperature": "pi/air" } },
  },
  collectors: {
    pi: {
      sources: [
        { kind: "serial", path: "/dev/serial/by-id/invented", sensors: ["air", "spare"] },
        { kind: "rehearsal", room: "yard", sensor: "played" },
      ],
      instruments: {
        air: { "air-humidity": { offset: -2, calibrated: "2026-03-02", due: "2027-03-02", reference: "REF-7" } },
        spare: { "air-temperature": { slope: 1.01 } },
      },
    },
    gateway: { sensors: ["second"] },
  },
});
const asItReads = { slope: 1, offset: 0, calibrated: null, due: null, reference: null };

it("lists each line once: those that places name or compare with, and those that only have a setting", () => {
  const told = instrumentsOf(shop).map(({ line, setting }) => [
    `${line.collector}/${line.sensor} ${line.quantity}`,
    setting,
  ]);
  expect(told).toEqual([
    ["pi/air air-temperature", asItReads],
    ["pi/air air-humidity", { slope: 1, offset: -2, calibrated: "2026-03-02", due: "2027-03-02", reference: "REF-7" }],
    ["gateway/second air-humidity", asItReads],
    ["pi/spare air-temperature", { ...asItReads, slope: 1.01 }],
  ]);
});

it("knows which readings a collector of ours corrects, and which come ready made", () => {
  const isOf = (collector: string, sensor: string) =>
    isCorrected(shop, { collector, sensor, quantity: "air-temperature" });
  expect([isOf("pi", "air"), isOf("pi", "played"), isOf("gateway", "second"), isOf("none", "air")]).toEqual([
    true,
    false,
    false,
    false,
  ]);
});
