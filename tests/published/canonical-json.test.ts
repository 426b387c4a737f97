/**
 * The canonical JSON of the records' log against RFC 8785 (June 2020): the sample of §3.2.2 with its bytes of §3.2.4, the
 * order of §3.2.3, every row of the number table in Appendix B, and the authors' test files
 * (github.com/cyberphone/json-canonicalization, testdata/; weird.json as of commit 77917fbd).
 */
import { describe, expect, it } from "vitest";
import { canonical, hashOf } from "../../predictor/records/log.ts";

/** §3.2.2, as JSON text. */
const sample = String.raw`{
  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}`;

describe("the sample of RFC 8785 §3.2", () => {
  const made = canonical(JSON.parse(sample));

  it("has the bytes of §3.2.4", () => {
    const published = `
      7b 22 6c 69 74 65 72 61 6c 73 22 3a 5b 6e 75 6c 6c 2c 74 72 75 65 2c 66 61 6c 73 65 5d 2c 22 6e 75 6d 62
      65 72 73 22 3a 5b 33 33 33 33 33 33 33 33 33 2e 33 33 33 33 33 33 33 2c 31 65 2b 33 30 2c 34 2e 35 2c 30
      2e 30 30 32 2c 31 65 2d 32 37 5d 2c 22 73 74 72 69 6e 67 22 3a 22 e2 82 ac 24 5c 75 30 30 30 66 5c 6e 41
      27 42 5c 22 5c 5c 5c 5c 5c 22 2f 22 7d`;
    expect(Buffer.from(made).toString("hex")).toBe(published.replaceAll(/\s/g, ""));
  });

  it("has the SHA-256 that sha256sum gives for those bytes", () => {
    expect(hashOf(made)).toBe("2d5e01a318d0f0879ab568c4be289c8b1f64ef8921a53c6277d5e069978baacb");
    expect(hashOf(Buffer.from(made))).toBe(hashOf(made));
  });
});

it("sorts names by UTF-16 code units, as §3.2.3 shows", () => {
  const names = {
    "\u20ac": "Euro Sign",
    "\r": "Carriage Return",
    "\ufb33": "Hebrew Letter Dalet With Dagesh",
    "1": "One",
    "\ud83d\ude00": "Emoji: Grinning Face",
    "\u0080": "Control",
    "\u00f6": "Latin Small Letter O With Diaeresis",
  };
  expect([...canonical(names).matchAll(/:"([^"]+)"/g)].map(([, value]) => value)).toEqual([
    "Carriage Return",
    "One",
    "Control",
    "Latin Small Letter O With Diaeresis",
    "Euro Sign",
    "Emoji: Grinning Face",
    "Hebrew Letter Dalet With Dagesh",
  ]);
});

/** Appendix B: the number as an IEEE 754 double in hexadecimal, and its JSON; null where it has none. */
const numbers: readonly [ieee: string, json: string | null][] = [
  ["0000000000000000", "0"],
  ["8000000000000000", "0"],
  ["0000000000000001", "5e-324"],
  ["8000000000000001", "-5e-324"],
  ["7fefffffffffffff", "1.7976931348623157e+308"],
  ["ffefffffffffffff", "-1.7976931348623157e+308"],
  ["4340000000000000", "9007199254740992"],
  ["c340000000000000", "-9007199254740992"],
  ["4430000000000000", "295147905179352830000"],
  ["7fffffffffffffff", null],
  ["7ff0000000000000", null],
  ["44b52d02c7e14af5", "9.999999999999997e+22"],
  ["44b52d02c7e14af6", "1e+23"],
  ["44b52d02c7e14af7", "1.0000000000000001e+23"],
  ["444b1ae4d6e2ef4e", "999999999999999700000"],
  ["444b1ae4d6e2ef4f", "999999999999999900000"],
  ["444b1ae4d6e2ef50", "1e+21"],
  ["3eb0c6f7a0b5ed8c", "9.999999999999997e-7"],
  ["3eb0c6f7a0b5ed8d", "0.000001"],
  ["41b3de4355555553", "333333333.3333332"],
  ["41b3de4355555554", "333333333.33333325"],
  ["41b3de4355555555", "333333333.3333333"],
  ["41b3de4355555556", "333333333.3333334"],
  ["41b3de4355555557", "333333333.33333343"],
  ["becbf647612f3696", "-0.0000033333333333333333"],
  ["43143ff3c1cb0959", "1424953923781206.2"],
];

it.each(numbers)("writes the double %s of Appendix B as %s", (ieee, json) => {
  const number = Buffer.from(ieee, "hex").readDoubleBE();
  if (json === null) expect(() => canonical({ number })).toThrow();
  else expect(canonical(number)).toBe(json);
});

/** The authors' test files: what goes in and what comes out; their values.json is the sample of §3.2.2. */
const files: Record<string, [input: string, output: string]> = {
  "arrays.json": ['[ 56, { "d": true, "10": null, "1": [ ] } ]', '[56,{"1":[],"10":null,"d":true}]'],
  "french.json": [
    '{ "peach": "This sorting order", "péché": "is wrong according to French", "pêche": "but canonicalization MUST", "sin": "ingnore locale" }',
    '{"peach":"This sorting order","péché":"is wrong according to French","pêche":"but canonicalization MUST","sin":"ingnore locale"}',
  ],
  "structures.json": [
    String.raw`{ "1": {"f": {"f": "hi","F": 5} ,"\n": 56.0}, "10": { }, "": "empty", "a": { }, "111": [ { } ], "A": { } }`,
    String.raw`{"":"empty","1":{"\n":56,"f":{"F":5,"f":"hi"}},"10":{},"111":[{}],"A":{},"a":{}}`,
  ],
  "unicode.json": [String.raw`{ "Unnormalized Unicode":"\u1e0d\u0307" }`, '{"Unnormalized Unicode":"\u1e0d\u0307"}'],
  "weird.json": [
    String.raw`{ "\u20ac": "Euro Sign", "1": "One", "\u0080": "Control\u007f",
      "\ud83d\ude02": "Smiley", "\u00f6": "Latin Small Letter O With Diaeresis", "\ufb33": "Hebrew Letter Dalet With Dagesh",
      "</script>": "Browser Challenge" }`,
    '{"1":"One","</script>":"Browser Challenge","\u0080":"Control\u007f",' +
      '"\u00f6":"Latin Small Letter O With Diaeresis","\u20ac":"Euro Sign","\ud83d\ude02":"Smiley","\ufb33":"Hebrew Letter Dalet With Dagesh"}',
  ],
};

it.each(Object.entries(files))("writes the authors' %s as they do", (_name, [input, output]) => {
  expect(canonical(JSON.parse(input))).toBe(output);
});

it.each([["\ud83d"], ["\ude00"], ["a\ude00\ud83d"]])("refuses half a surrogate pair, as §3.2.2.2 wants: %j", (text) => {
  expect(() => canonical({ text })).toThrow();
  expect(() => canonical({ [text]: 1 })).toThrow();
});

it("refuses what JSON has no value for", () => {
  expect(() => canonical(undefined)).toThrow();
  expect(() => canonical({ value: Number.NEGATIVE_INFINITY })).toThrow();
});
