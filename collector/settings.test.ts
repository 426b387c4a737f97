import { expect, it } from "vitest";
import { parse } from "yaml";
import { sourceSchema } from "./settings.ts";

const device = "{ unit: 1, registers: [{ sensor: plenum, quantity: air-temperature, address: 1, scale: 0.1 }] }";
const faultsOf = (source: string) =>
  sourceSchema.safeParse(parse(source)).error?.issues.map(({ message }) => message) ?? [];

it.each([
  [
    "modbus over a serial line",
    `{ kind: modbus, path: /dev/serial/by-id/usb-485, parity: even, devices: [${device}] }`,
  ],
  ["modbus over the network", `{ kind: modbus, host: 10.0.0.7, devices: [${device}] }`],
  [
    "probes on one wire",
    "{ kind: one-wire, probes: [{ id: 28-0316a2790fff, sensor: plenum, quantity: air-temperature }] }",
  ],
  [
    "a chip that the kernel reads",
    "{ kind: kernel, chips: [{ name: sht4x, channels: [{ sensor: plenum, quantity: air-temperature }] }] }",
  ],
])("takes a source of %s", (_, source) => {
  expect(faultsOf(source)).toEqual([]);
});

it.each([
  ["both a path and a host", "path: /dev/x, host: h, devices: [{ unit: 1, registers: [R] }]", "either path"],
  [
    "register 0 where addresses count from 1",
    "host: h, devices: [{ unit: 1, addressBase: 1, registers: [R] }]",
    "addressBase",
  ],
  ["a unit twice", "host: h, devices: [{ unit: 1, registers: [R] }, { unit: 1, registers: [R] }]", "each unit once"],
])("refuses a modbus source with %s", (_, settings, expected) => {
  const register = "{ sensor: plenum, quantity: air-temperature, address: 0 }";
  expect(faultsOf(`{ kind: modbus, ${settings.replaceAll("R", register)} }`).join()).toContain(expected);
});
