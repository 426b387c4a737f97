/** What the firmware makes of its chips' bytes, run by MicroPython. */
import { beforeEach, describe, expect, it } from "vitest";
import { type FakeBoard, fakeBoard } from "./fake-board.ts";

let board: FakeBoard;
beforeEach(async () => {
  board = await fakeBoard();
  board.run("import board, machine\ni2c = machine.I2C(0, None, None, 100000)");
});

/** Bytes of the number and its check, as an SHT sends them. */
const word = (ticks: number) =>
  `bytes((${ticks >> 8}, ${ticks & 0xff}, crc8(bytes((${ticks >> 8}, ${ticks & 0xff})))))`;
/** Runs read() after start() and prints the values, or the kind of the error. */
const reading = (make: string) =>
  board.run(
    `chip = ${make}\ntry:\n  chip.start()\n  print(*["%s=%.4f" % pair for pair in chip.read()])\nexcept Exception as error:\n  print(type(error).__name__)`,
  )[0];

describe("sht3x and sht4x", () => {
  const answer = (sht: "sht3x" | "sht4x", bytes: string) => {
    board.run(`from line import crc8\nfrom sht import sht3x, sht4x\nboard.chips[0x44] = lambda command: ${bytes}`);
    return reading(`${sht}(i2c)`);
  };

  // The formulas of the makers' data sheets, reckoned apart; 0 and FFFF are their ends. What is beyond 0 and 100 % is cut off.
  it.each([
    [0x0000, 0x0000, "-45.0000", "0.0000", "0.0000"],
    [0x6666, 0x8000, "25.0000", "50.0008", "56.5010"],
    [0xffff, 0xffff, "130.0000", "100.0000", "100.0000"],
    [0x6666, 0x0c49, "25.0000", "4.7990", "0.0000"],
    [0x3333, 0xd000, "-10.0000", "81.2512", "95.5640"],
    [0x3333, 0xd918, "-10.0000", "84.8035", "100.0000"],
  ])("read temperature %i and humidity %i", (temperature, humidity, celsius, sht3x, sht4x) => {
    const bytes = `${word(temperature)} + ${word(humidity)}`;
    expect(answer("sht3x", bytes)).toBe(`air-temperature=${celsius} air-humidity=${sht3x}`);
    expect(answer("sht4x", bytes)).toBe(`air-temperature=${celsius} air-humidity=${sht4x}`);
  });

  it("take the check that the data sheet prints for BE EF", () => {
    expect(answer("sht3x", 'b"\\xbe\\xef\\x92\\xbe\\xef\\x92"')).toBe("air-temperature=85.5230 air-humidity=74.5846");
  });

  it.each([
    ["a wrong check of the temperature", 'b"\\xbe\\xef\\x93\\xbe\\xef\\x92"', "ValueError"],
    ["a wrong check of the humidity", 'b"\\xbe\\xef\\x92\\xbe\\xee\\x92"', "ValueError"],
    ["all zeros", "bytes(6)", "ValueError"],
    ["all ones", 'b"\\xff" * 6', "ValueError"],
    ["half an answer", 'b"\\xbe\\xef\\x92"', "IndexError"],
  ])("refuse %s", (_what, bytes, error) => {
    expect(answer("sht4x", bytes)).toBe(error);
  });

  it("ask by their own command, and raise where nothing answers", () => {
    board.run("asked = []\nfrom line import crc8\nfrom sht import sht3x, sht4x");
    board.run(`def answers(command):\n  asked.append(command)\n  return ${word(0)} * 2\nboard.chips[0x45] = answers`);
    reading("sht3x(i2c, 0x45)");
    reading("sht4x(i2c, 0x45)");
    expect(board.run("print(asked)")).toEqual(["[b'$\\x00', b'\\xfd']"]);
    expect(reading("sht4x(i2c, 0x46)")).toBe("OSError");
  });
});

describe("ds18b20", () => {
  beforeEach(() => {
    board.run("import ds18b20, onewire\nbus = onewire.OneWire(None)");
    board.run('rom = ds18b20.rom_of("28-0316a2790fff", bus.crc8)');
  });
  const answer = (scratchpad: string) => {
    board.run(`board.scratchpads[rom] = bytes.fromhex("${scratchpad.replaceAll(" ", "")}")`);
    return reading('ds18b20.Ds18b20(bus, "28-0316a2790fff")');
  };

  // Temperature and data of the data sheet's table.
  it.each([
    ["07D0", 125],
    ["0550", 85],
    ["0191", 25.0625],
    ["00A2", 10.125],
    ["0008", 0.5],
    ["0000", 0],
    ["FFF8", -0.5],
    ["FF5E", -10.125],
    ["FE6F", -25.0625],
    ["FC90", -55],
  ])("reads code %s as %d °C", (code, celsius) => {
    expect(board.run(`print(ds18b20.celsius(0x${code}))`).map(Number)).toEqual([celsius]);
  });

  it("finds the address of an id as Linux writes it, and the id of an address (check of ROM 02 1C B8 01: A2, note 27)", () => {
    expect(board.run('print(ds18b20.rom_of("02-00000001b81c", bus.crc8).hex())')).toEqual(["021cb801000000a2"]);
    expect(board.run('print(ds18b20.id_of(bytes.fromhex("021cb801000000a2")), ds18b20.id_of(rom))')).toEqual([
      "02-00000001b81c 28-0316a2790fff",
    ]);
  });

  // Scratchpads with their checks, as Linux' w1_slave files of public projects show them, but for FF5E.
  it.each([
    ["9d 01 4b 46 7f ff 03 10 57", "25.8125"],
    ["70 01 4b 46 7f ff 10 10 e1", "23.0000"],
    ["33 01 55 05 7f a5 a5 66 4b", "19.1875"],
    ["5e ff 4b 46 7f ff 02 10 b6", "-10.1250"],
  ])("reads scratchpad %s", (scratchpad, celsius) => {
    expect(answer(scratchpad)).toBe(`panel-temperature=${celsius}`);
  });

  it.each([
    ["the value after power-on, whose check is right", "50 05 4b 46 7f ff 0c 10 1c"],
    ["the value of too little power", "ff 07 4b 46 7f ff 01 10 2f"],
    ["a data wire shorted to ground, whose check is right", "00 00 00 00 00 00 00 00 00"],
    ["nobody there", "ff ff ff ff ff ff ff ff ff"],
    ["a wrong check", "9d 01 4b 46 7f ff 03 10 56"],
  ])("refuses %s", (_what, scratchpad) => {
    expect(answer(scratchpad)).toBe("ValueError");
  });

  it("refuses to take one probe's value for another's", () => {
    answer("9d 01 4b 46 7f ff 03 10 57");
    expect(reading('ds18b20.Ds18b20(bus, "28-000000000001")')).toBe("ValueError");
  });

  it("raises where no probe at all answers", () => {
    expect(reading('ds18b20.Ds18b20(bus, "28-000000000001")')).toBe("OneWireError");
  });
});

describe("mlx90614", () => {
  const answer = (low: number, high: number, check?: number) => {
    const sent = `bytes((0xB4, 7, 0xB5, ${low}, ${high}))`;
    board.run("from line import crc8\nfrom mlx90614 import Mlx90614");
    board.run(
      `board.chips[0x5A] = lambda command: bytes((${low}, ${high}, ${check ?? `crc8(${sent}, 7, 0)`})) if command == b"\\x07" else b""`,
    );
    return reading("Mlx90614(i2c)");
  };

  it("reads raw 3AF7 as 28.75 °C (documentation of Linux' driver)", () => {
    expect(answer(0xf7, 0x3a)).toBe("panel-temperature=28.7500");
  });

  it("reads below zero", () => {
    expect(answer(0x00, 0x34)).toBe("panel-temperature=-6.9100");
  });

  it("takes the check of the data sheet's example (D2 3A: 30; from memory)", () => {
    expect(answer(0xd2, 0x3a, 0x30)).toBe("panel-temperature=28.0100");
  });

  it.each([
    ["a wrong check", 0xf7, 0x3a, 0x00],
    ["the sensor's error flag, whose check is right", 0xf7, 0xba, undefined],
    ["all zeros", 0, 0, 0],
    ["all ones", 0xff, 0xff, 0xff],
  ])("refuses %s", (_what, low, high, check) => {
    expect(answer(low, high, check)).toBe("ValueError");
  });
});
