/** The firmware's rounds and its whole program, run by MicroPython on a fake board; its lines are read by the collector's own parser. */
import { beforeEach, describe, expect, it } from "vitest";
import { parseLine } from "../../collector/sources/serial-line.ts";
import { type FakeBoard, fakeBoard } from "./fake-board.ts";

const sensors = new Set(["bay-2", "bay-2-check"]);
const valuesOf = (lines: readonly string[]) =>
  lines.map((line) => {
    const { readings, faults } = parseLine(line, sensors);
    return faults.length > 0
      ? `${faults.join()}: ${line}`
      : readings.map(({ sensor, quantity, value }) => [sensor, quantity, value]);
  });

let board: FakeBoard;
beforeEach(async () => {
  board = await fakeBoard();
  // 25 °C and 50 %, or 56.5 % by the other formula; the probe's scratchpad is that of a public project, 25.8125 °C.
  board.run(`
import board, machine, onewire
air = b"\\x66\\x66\\x93\\x80\\x00\\xa2"
board.chips[0x44] = lambda command: air
board.chips[0x45] = lambda command: air
def asleep(command):
  raise OSError(5)
def broken(command):
  return b"\\x66\\x67\\x93\\x80\\x00\\xa2"
rom = bytes((0x28, 0xff, 0x0f, 0x79, 0xa2, 0x16, 0x03))
rom += bytes((onewire.OneWire(None).crc8(rom),))
board.scratchpads[rom] = bytes.fromhex("9d014b467fff031057")
`);
});

const whole = [
  [
    ["bay-2", "air-temperature", 25],
    ["bay-2", "air-humidity", 56.5],
    ["bay-2", "panel-temperature", 25.81],
  ],
  [
    ["bay-2-check", "air-temperature", 25],
    ["bay-2-check", "air-humidity", 50],
  ],
];

describe("a round", () => {
  const round = (before = "") =>
    board.run(`
import config
from station import Station, sensors_of
i2c = machine.I2C(0, None, None, 100000)
station = Station(sensors_of(config.SENSORS, i2c, onewire.OneWire(None)), board.write, board.feed, board.sleep_ms)
${before}
lines = station.round()
`);

  it("writes a line for each sensor with the values of all its chips, which the collector reads back", () => {
    expect(valuesOf(round())).toEqual(whole);
    expect(board.run("print(lines)")).toEqual(["2"]);
  });

  it("starts all chips, waits once for the slowest, and writes after that", () => {
    round();
    const done = board.run("print([what for what in board.done if what != 'fed'])")[0];
    expect(done).toMatch(/^\['44 to 28', 500, 250, 'BE to 28', 'bay-2 .*', 'bay-2-check .*'\]$/);
  });

  it.each([
    ["a chip that does not answer", "del board.chips[0x44]"],
    ["a chip that fails", "board.chips[0x44] = asleep"],
    ["a chip whose check is wrong", "board.chips[0x44] = broken"],
    ["a chip that answers nothing", 'board.chips[0x44] = lambda command: b""'],
  ])("goes without the values of %s, and writes the rest", (_what, before) => {
    expect(valuesOf(round(before))).toEqual([[["bay-2", "panel-temperature", 25.81]], whole[1]]);
  });

  it("goes without a probe that was unplugged, and takes it up again when it is back", () => {
    const [air] = whole;
    expect(valuesOf(round("board.scratchpads.clear()"))).toEqual([air?.slice(0, 2), whole[1]]);
    expect(valuesOf(round('board.scratchpads[rom] = bytes.fromhex("9d014b467fff031057")'))).toEqual(whole);
  });

  it("does not take a chip's earlier value when it could not be started", () => {
    const stale =
      'class Stale:\n  wait_ms = 0\n  start = lambda self: asleep(b"")\n  read = lambda self: (("air-temperature", 1.0),)';
    expect(
      board.run(`from station import Station\n${stale}
Station([("bay-2", [Stale()])], board.write, board.feed, board.sleep_ms).round()`),
    ).toEqual([]);
  });

  it("writes no line for a sensor without a value, and never nan", () => {
    expect(valuesOf(round("board.chips.clear()"))).toEqual([[["bay-2", "panel-temperature", 25.81]]]);
    expect(round("board.scratchpads.clear()")).toEqual([]);
    expect(board.run("print(lines)")).toEqual(["0"]);
  });
});

describe("the settings", () => {
  const refusal = (sensors: string, i2c = "True", oneWire = "onewire.OneWire(None)") =>
    board.run(
      `from station import sensors_of\ntry:\n  sensors_of(${sensors}, ${i2c}, ${oneWire})\n  print("taken")\nexcept ValueError as error:\n  print(error)`,
    )[0];

  it.each([
    ['[("Bay 2", [])]', "sensor Bay 2: expected lower-case letters, digits and hyphens, at most 63"],
    [
      `[("${"b".repeat(64)}", [])]`,
      `sensor ${"b".repeat(64)}: expected lower-case letters, digits and hyphens, at most 63`,
    ],
    ['[("bay-2", []), ("bay-2", [])]', "sensor bay-2 stands there twice"],
    [
      '[("bay-2", [("sht4x",), ("sht3x", 0x45)])]',
      "sensor bay-2: air-temperature comes from two chips; give one another name",
    ],
    ['[("bay-2", [("mlx90614", 0x5A, "smell")])]', "sensor bay-2: no quantity is called smell"],
    ['[("bay-2", [("nose",)])]', "no chip is called nose"],
  ])("%s are refused in words", (settings, words) => {
    expect(refusal(settings)).toBe(words);
  });

  it("are refused where a chip has no bus", () => {
    expect(refusal('[("bay-2", [("sht4x",)])]', "None")).toBe("sht4x: I2C is not set");
    expect(refusal('[("bay-2", [("ds18b20", "28-0316a2790fff")])]', "True", "None")).toBe(
      "ds18b20: ONE_WIRE_PIN is not set",
    );
  });

  it("are taken for all four chips, with and without an address", () => {
    expect(
      refusal('[("bay-2", [("sht4x",), ("mlx90614",)]), ("b", [("sht3x", 0x45), ("ds18b20", "28-0316a2790fff")])]'),
    ).toBe("taken");
  });
});

describe("main.py", () => {
  const main = (waits: number) =>
    board.run(`import fake_time\nfake_time.waits_left = ${waits}\ntry:\n  import main\nexcept board.Over:\n  pass`);
  const done = () => board.run("print(*board.done)")[0] ?? "";

  it("measures with the example settings, round after round, and keeps the watchdog fed", () => {
    // One wait before the watchdog; two in a round and ten between rounds.
    const lines = main(1 + 3 * 12);
    expect(valuesOf(lines)).toEqual([...whole, ...whole, ...whole]);
    expect(done()).toMatch(/^5000 watchdog 8000 fed /);
    for (const stretch of done().split("fed").slice(1)) {
      const rested = (stretch.match(/(?<= |^)\d+(?= |$)/g) ?? []).reduce((sum, ms) => sum + Number(ms), 0);
      expect(rested).toBeLessThanOrEqual(500);
    }
  });

  it("does not start the board anew for eleven rounds without a value", () => {
    board.run("board.chips.clear()\nboard.scratchpads.clear()");
    main(11 * 10);
    expect(done()).not.toContain("reset");
  });

  it("starts the board anew in the twelfth round without a value", () => {
    board.run("board.chips.clear()\nboard.scratchpads.clear()");
    main(1 + 11 * 10);
    expect(done()).toContain("reset");
  });

  it("goes on for long while only one sensor gives values", () => {
    board.run("del board.chips[0x44]\nboard.scratchpads.clear()");
    expect(main(1 + 30 * 11)).toHaveLength(30);
    expect(done()).not.toContain("reset");
  });

  it("writes to the pins instead of USB where the settings say so, and starts no watchdog for 0", () => {
    board.run('import config\nconfig.UART = {"id": 1, "tx": 8, "rx": 9, "baud": 9600}\nconfig.WATCHDOG_MS = 0');
    expect(main(1 + 12)[0]).toMatch(/^uart 1 at 9600: bay-2 air-temperature=/);
    expect(done()).not.toMatch(/watchdog|fed/);
  });

  it("says a fault of the settings before it starts the watchdog", () => {
    board.run('import config\nconfig.SENSORS = [("bay-2", [("nose",)])]');
    expect(() => main(100)).toThrow(/no chip is called nose/);
    expect(done()).not.toContain("watchdog");
  });
});

describe("find.py", () => {
  it("lists the chips' addresses and the probes' ids", () => {
    expect(board.run("import find")).toEqual(["I2C 0x44", "I2C 0x45", "1-Wire 28-0316a2790fff"]);
  });
});
