/**
 * What the kernel writes of a 1-Wire temperature probe. Source of the two files and of the two false values: Linux kernel
 * documentation, Documentation/w1/slaves/w1_therm.rst. See docs/one-wire.md.
 */

export type ProbeFault = "wrong check" | "cut line" | "power-on value" | "too little power" | "shorted" | "unplugged";
export type ProbeReading = { celsius: number } | { fault: ProbeFault };

const scratchpadBytes = 9;
const bytePattern = "((?:[0-9a-f]{2} ){1,32})";
const slavePattern = new RegExp(`^${bytePattern}: crc=([0-9a-f]{2}) (YES|NO)\n${bytePattern}t=(-?\\d{1,6})\n?$`, "i");

/** What a probe shows after power-on until its first conversion ends. */
const powerOnMilliC = 85_000;
/** How near the reading before must be for 85 °C to be taken for a measurement; assumed. */
const nearK = 10;
/** The probes' range ends here (their data sheets); 127.94 stands where a conversion had too little power. */
const highestMilliC = 125_000;

/**
 * The CRC-8 of 1-Wire: polynomial 0x31 reflected (0x8C), least significant bit first, start 0 (application note 27 of the
 * bus's maker). Over a ROM number or a scratchpad with its check it gives 0. "123456789" → A1.
 */
export function crc8OneWire(bytes: Uint8Array): number {
  let crc = 0;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit += 1) crc = crc & 1 ? (crc >> 1) ^ 0x8c : crc >> 1;
  }
  return crc;
}

/**
 * The temperature in a `w1_slave` file, °C. Refused unless the kernel found the check right, it is right when computed
 * here too, and the value is not one of those that stand for no measurement. `beforeC` is the reading accepted before,
 * by which alone a true 85 °C can be told from the power-on value.
 */
export function parseW1Slave(text: string, beforeC: number | undefined): ProbeReading {
  const [, read = "", printed = "", verdict, kept = "", milliC = ""] = slavePattern.exec(text) ?? [];
  const bytes = bytesOf(read);
  if (verdict === undefined || bytes.length !== scratchpadBytes || bytesOf(kept).length !== scratchpadBytes) {
    return { fault: "cut line" };
  }
  // Nobody pulls the line low: the kernel reads ones, and its t= is made of them (-62).
  if (bytes.every((byte) => byte === 0xff)) return { fault: "unplugged" };
  const check = bytes.at(-1);
  const isRight = crc8OneWire(bytes.subarray(0, -1)) === check && Number.parseInt(printed, 16) === check;
  if (verdict.toUpperCase() !== "YES" || !isRight) return { fault: "wrong check" };
  // The check of eight zeros is zero, so that a line shorted to ground looks right.
  if (bytes.every((byte) => byte === 0)) return { fault: "shorted" };
  // With the check right the kernel keeps what it read: the lines are the same.
  if (read.toLowerCase() !== kept.toLowerCase()) return { fault: "cut line" };
  return measured(Number(milliC), beforeC);
}

/** The temperature in a `temperature` file, °C: no check, and nothing at all while a conversion is under way or after it failed. */
export function parseTemperature(text: string, beforeC: number | undefined): ProbeReading {
  const digits = /^(-?\d{1,6})\n?$/.exec(text)?.[1];
  return digits === undefined ? { fault: "cut line" } : measured(Number(digits), beforeC);
}

function measured(milliC: number, beforeC: number | undefined): ProbeReading {
  if (milliC > highestMilliC) return { fault: "too little power" };
  const celsius = milliC / 1000;
  const isExpected = beforeC !== undefined && Math.abs(celsius - beforeC) <= nearK;
  if (milliC === powerOnMilliC && !isExpected) return { fault: "power-on value" };
  return { celsius };
}

function bytesOf(hex: string): Uint8Array {
  return Buffer.from(hex.replaceAll(" ", ""), "hex");
}
