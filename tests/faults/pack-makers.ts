/** Packs as no collector sends them: made up of SenML's labels and of what JSON allows and forbids, or good ones damaged. */
import fc from "fast-check";
import { packOf, quantities, quantityNames, type Reading } from "../../collector/readings.ts";

/** The collector in whose name they come. */
export const fuzzer = "fuzz-pi";
const startMs = Date.parse("2026-03-02T08:00:00Z");

const labels = [
  "bn",
  "bt",
  "bu",
  "bv",
  "bs",
  "bver",
  "n",
  "u",
  "t",
  "ut",
  "v",
  "vs",
  "vb",
  "vd",
  "s",
  "quality",
  "why",
];
const strangeLabels = ["x", "x_", "", "_", "__proto__", "constructor", "toString", "hasOwnProperty", "\u0000", "N"];
const names = [
  ...quantityNames.map((quantity) => `${fuzzer}/plenum/${quantity}`),
  ...["__proto__", "constructor", "..", "", "A.B:_", "a".repeat(64), "*", "#"].map(
    (sensor) => `${fuzzer}/${sensor}/air-temperature`,
  ),
  ...["__proto__", "constructor", "toString", "smell", ""].map((quantity) => `${fuzzer}/plenum/${quantity}`),
  "booth-pi/plenum/air-temperature",
  `${fuzzer}/`,
  `${fuzzer}/plenum/`,
  "air-humidity",
  "/",
];
const units = ["Cel", "%RH", "m/s", "Pa", "K", ""];
const marks = ["doubtful", "bad", "good", "stuck", "spike", "out of range", "fast change", "moody", "__proto__"];
/** As they stand in the text; some are no JSON, some no numbers of JavaScript's. */
const numbers = ["0", "-0", "20.5", "1700000000", "1e13", "1e300", "-1e300", "1e308", "-1e308", "1e999", "5e-324"];
const noNumbers = ["NaN", "Infinity", "-Infinity", "0x10", "1.", ".5", "+1", "01", "--1", "1e", "null", '"20"', "[20]"];
const deep = [50, 5000].flatMap((depth) => [
  "[".repeat(depth) + "]".repeat(depth),
  `${'{"a":'.repeat(depth)}1${"}".repeat(depth)}`,
  "[".repeat(depth),
]);

const text = (value: unknown) => JSON.stringify(value);
const usualValue: Record<string, fc.Arbitrary<string>> = {
  ...Object.fromEntries(["bn", "n"].map((label) => [label, fc.constantFrom(...names).map(text)])),
  ...Object.fromEntries(["bu", "u"].map((label) => [label, fc.constantFrom(...units).map(text)])),
  ...Object.fromEntries(["quality", "why"].map((label) => [label, fc.constantFrom(...marks).map(text)])),
  bver: fc.constantFrom("10", "5", "11", "1", "0", "-1", "10.5"),
};
const usualNumber = fc.oneof(
  fc.constantFrom(...numbers),
  fc.double({ noNaN: true, noDefaultInfinity: true }).map(text),
);
const anyValue = fc.oneof(
  { weight: 6, arbitrary: fc.jsonValue({ maxDepth: 2 }).map(text) },
  { weight: 4, arbitrary: fc.constantFrom(...numbers, ...noNumbers) },
  { weight: 1, arbitrary: fc.constantFrom(...deep) },
  { weight: 2, arbitrary: fc.string({ unit: "binary", maxLength: 40 }).map(text) },
);

function field(label: string): fc.Arbitrary<string> {
  const usual = (Object.hasOwn(usualValue, label) ? usualValue[label] : undefined) ?? usualNumber;
  return fc
    .oneof({ weight: 12, arbitrary: usual }, { weight: 1, arbitrary: anyValue })
    .map((value) => `${text(label)}:${value}`);
}

const anyField = fc.constantFrom(...labels, ...labels, ...strangeLabels).chain(field);
/** A reading with all it needs; its instant and value may be any. */
const instant = fc.oneof(
  { weight: 5, arbitrary: fc.integer({ min: 1_770_000_000, max: 1_780_000_000 }).map(text) },
  { weight: 1, arbitrary: usualNumber },
);
const wholeReading = fc
  .tuple(fc.constantFrom(...quantityNames), usualNumber, instant)
  .map(([name, v, t]) => [`"n":"${fuzzer}/plenum/${name}","u":"${quantities[name].unit}","v":${v},"t":${t}`]);
const fewFields = fc.array(anyField, { maxLength: 2 });

/** Put together as text, so that a label may stand twice and `__proto__` is one like any other. */
const record = fc
  .oneof(
    { weight: 6, arbitrary: wholeReading },
    { weight: 4, arbitrary: fc.tuple(fewFields, wholeReading, fewFields).map((parts) => parts.flat()) },
    { weight: 2, arbitrary: fc.subarray(labels).chain((some) => fc.tuple(...some.map(field))) },
    { weight: 1, arbitrary: fc.array(anyField, { maxLength: 6 }) },
  )
  .map((fields) => `{${fields.join(",")}}`);

/** A pack, or what some program might take for one. */
export const madeUpPack: fc.Arbitrary<Buffer> = fc.oneof(
  { weight: 40, arbitrary: fc.array(record, { maxLength: 3 }).map((all) => Buffer.from(`[${all.join(",")}]`)) },
  { weight: 4, arbitrary: fc.json().map((json) => Buffer.from(json)) },
  { weight: 4, arbitrary: fc.uint8Array({ maxLength: 200 }).map((bytes) => Buffer.from(bytes)) },
  { weight: 2, arbitrary: anyValue.map((value) => Buffer.from(value)) },
  { weight: 2, arbitrary: record.map((one) => Buffer.from(one)) },
);

/** Too large to make at each turn; what they hold is told by their names. */
export const largePacks: Record<string, () => Buffer> = {
  "a sensor with a name of 200 KB": () => Buffer.from(text([{ n: `${fuzzer}/${"é".repeat(1e5)}/air-speed`, v: 1 }])),
  "a label of 200 KB that must be understood": () => Buffer.from(`[{"${"x".repeat(2e5)}_":1}]`),
  "a text of 200 KB for a number": () => Buffer.from(text([{ n: names[0], u: "Cel", v: "9".repeat(2e5) }])),
  "20,000 records that are none": () => Buffer.from(text(Array(20_000).fill({ v: "warm" }))),
  "20,000 good records and a bad one": () =>
    Buffer.from(
      text([...Array.from({ length: 20_000 }, (_, n) => ({ n: names[0], u: "Cel", v: 20, t: -n })), { v: 1 }]),
    ),
  "200,000 brackets": () => Buffer.from("[".repeat(2e5)),
  "a number of 200,000 digits": () => Buffer.from(`[{"n":"${names[0]}","u":"Cel","v":${"9".repeat(2e5)}}]`),
  nothing: () => Buffer.alloc(0),
};

/** Numbers in [0, 1) that are the same at every run: mulberry32, by T. Ettinger, public domain. */
export function randomOf(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b_79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), state | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** A good pack of the fuzzer's own. */
function goodPack(random: () => number): Buffer {
  const quantity = quantityNames[Math.floor(random() * quantityNames.length)] ?? "air-speed";
  const firstMs = startMs + Math.floor(random() * 1e9);
  const readings = Array.from({ length: 1 + Math.floor(random() * 4) }, (_, n): Reading => {
    const reading = { sensor: "plenum", quantity, atMs: firstMs + 5000 * n, value: Math.round(random() * 1000) / 10 };
    return random() < 0.8 ? reading : { ...reading, mark: { quality: "bad", why: "stuck" } };
  });
  return Buffer.from(JSON.stringify(packOf(fuzzer, readings)));
}

const tokens = [
  "1e999",
  "1e300",
  '"__proto__":{"v":1},',
  '"x_":1,',
  "[[[[",
  "}]",
  "\u0000",
  "\\ud800",
  "\xff",
  '"v":2,',
  "-",
];

/** Bytes damaged one to four times: bits turned over, bytes lost, doubled or strange, cut short, another's tail grown on. */
export function damaged(good: Buffer, other: Buffer, random: () => number): Buffer {
  let bytes = Buffer.from(good);
  const place = () => Math.floor(random() * (bytes.length + 1));
  for (let times = 1 + Math.floor(random() * random() * 4); times > 0; times--) {
    const at = place();
    const kind = Math.floor(random() * 6);
    if (kind === 0 && at < bytes.length) bytes.writeUInt8((bytes[at] ?? 0) ^ (1 << Math.floor(random() * 8)), at);
    if (kind === 1) bytes = bytes.subarray(0, at);
    if (kind === 2) bytes = Buffer.concat([bytes.subarray(0, at), bytes.subarray(at + Math.floor(random() * 12))]);
    if (kind === 3) bytes = Buffer.concat([bytes.subarray(0, place()), bytes.subarray(at)]);
    if (kind === 4) bytes = Buffer.concat([bytes.subarray(0, at), other.subarray(Math.floor(random() * other.length))]);
    if (kind === 5) {
      const token = Buffer.from(tokens[Math.floor(random() * tokens.length)] ?? "", "latin1");
      bytes = Buffer.concat([bytes.subarray(0, at), token, bytes.subarray(at)]);
    }
  }
  return Buffer.from(bytes);
}

/** A good pack, damaged; now and then one that is not. */
export function damagedPack(random: () => number): Buffer {
  return random() < 0.05 ? goodPack(random) : damaged(goodPack(random), goodPack(random), random);
}
