/**
 * SenML against RFC 8428 (August 2018): the printed examples of §5.1, the one resolved pack that it prints (§5.1.4), and
 * the resolved forms that the authors generated in their repository (core-wg/senml-spec at aced339e). Of those, the one
 * of §5.1.2 is neither chronological nor does it carry `bver`, both against §4.6: it is compared as a set, `bver` apart.
 */
import { describe, expect, it } from "vitest";
import { resolveSenml, SenmlFault } from "../../predictor/readings/senml.ts";

const nowS = 1_700_000_000;
const device = "urn:dev:ow:10e2073a01080063";

describe("the examples of RFC 8428 §5.1", () => {
  it("resolves §5.1.1, a single datapoint, to now", () => {
    expect(resolveSenml([{ n: device, u: "Cel", v: 23.1 }], nowS)).toEqual([{ n: device, u: "Cel", t: nowS, v: 23.1 }]);
  });

  it("resolves the first pack of §5.1.2, two datapoints under a base name", () => {
    const pack = [
      { bn: `${device}:`, n: "voltage", u: "V", v: 120.1 },
      { n: "current", u: "A", v: 1.2 },
    ];
    expect(resolveSenml(pack, nowS)).toEqual([
      { n: `${device}:voltage`, u: "V", t: nowS, v: 120.1 },
      { n: `${device}:current`, u: "A", t: nowS, v: 1.2 },
    ]);
  });

  it("resolves the second pack of §5.1.2, with base time, base unit and version 5", () => {
    const name = "urn:dev:ow:10e2073a0108006:";
    const pack = [
      { bn: name, bt: 1.276020076001e9, bu: "A", bver: 5, n: "voltage", u: "V", v: 120.1 },
      { n: "current", t: -5, v: 1.2 },
      { n: "current", t: -4, v: 1.3 },
      { n: "current", t: -3, v: 1.4 },
      { n: "current", t: -2, v: 1.5 },
      { n: "current", t: -1, v: 1.6 },
      { n: "current", v: 1.7 },
    ];
    const published = [
      { n: `${name}voltage`, u: "V", t: 1276020076.001, v: 120.1 },
      { n: `${name}current`, u: "A", t: 1276020071.001, v: 1.2 },
      { n: `${name}current`, u: "A", t: 1276020072.001, v: 1.3 },
      { n: `${name}current`, u: "A", t: 1276020073.001, v: 1.4 },
      { n: `${name}current`, u: "A", t: 1276020074.001, v: 1.5 },
      { n: `${name}current`, u: "A", t: 1276020075.001, v: 1.6 },
      { n: `${name}current`, u: "A", t: 1276020076.001, v: 1.7 },
    ];
    const resolved = resolveSenml(pack, nowS);
    expect(resolved).toHaveLength(published.length);
    for (const record of published) expect(resolved).toContainEqual({ ...record, bver: 5 });
    expect(resolved.map((record) => record.t)).toEqual(resolved.map((record) => record.t).sort((a, b) => a - b));
  });

  it("resolves §5.1.3 to what §5.1.4 prints", () => {
    const pack = [
      { bn: device, bt: 1.320067464e9, bu: "%RH", v: 20 },
      { u: "lon", v: 24.30621 },
      { u: "lat", v: 60.07965 },
      { t: 60, v: 20.3 },
      { u: "lon", t: 60, v: 24.30622 },
      { u: "lat", t: 60, v: 60.07965 },
      { t: 120, v: 20.7 },
      { u: "lon", t: 120, v: 24.30623 },
      { u: "lat", t: 120, v: 60.07966 },
      { u: "%EL", t: 150, v: 98 },
      { t: 180, v: 21.2 },
      { u: "lon", t: 180, v: 24.30628 },
      { u: "lat", t: 180, v: 60.07967 },
    ];
    expect(resolveSenml(pack, nowS)).toEqual([
      { n: device, u: "%RH", t: 1320067464, v: 20 },
      { n: device, u: "lon", t: 1320067464, v: 24.30621 },
      { n: device, u: "lat", t: 1320067464, v: 60.07965 },
      { n: device, u: "%RH", t: 1320067524, v: 20.3 },
      { n: device, u: "lon", t: 1320067524, v: 24.30622 },
      { n: device, u: "lat", t: 1320067524, v: 60.07965 },
      { n: device, u: "%RH", t: 1320067584, v: 20.7 },
      { n: device, u: "lon", t: 1320067584, v: 24.30623 },
      { n: device, u: "lat", t: 1320067584, v: 60.07966 },
      { n: device, u: "%EL", t: 1320067614, v: 98 },
      { n: device, u: "%RH", t: 1320067644, v: 21.2 },
      { n: device, u: "lon", t: 1320067644, v: 24.30628 },
      { n: device, u: "lat", t: 1320067644, v: 60.07967 },
    ]);
  });

  it("resolves §5.1.5, other kinds of value", () => {
    const pack = [
      { bn: `${device}:`, n: "temp", u: "Cel", v: 23.1 },
      { n: "label", vs: "Machine Room" },
      { n: "open", vb: false },
      { n: "nfc-reader", vd: "aGkgCg" },
    ];
    expect(resolveSenml(pack, nowS)).toEqual([
      { n: `${device}:temp`, u: "Cel", t: nowS, v: 23.1 },
      { n: `${device}:label`, t: nowS, vs: "Machine Room" },
      { n: `${device}:open`, t: nowS, vb: false },
      { n: `${device}:nfc-reader`, t: nowS, vd: "aGkgCg" },
    ]);
  });

  it("resolves §5.1.6, a collection of devices with a base name each", () => {
    const pack = [
      { bn: "2001:db8::2/", bt: 1.320078429e9, n: "temperature", u: "Cel", v: 25.2 },
      { n: "humidity", u: "%RH", v: 30 },
      { bn: "2001:db8::1/", n: "temperature", u: "Cel", v: 12.3 },
      { n: "humidity", u: "%RH", v: 67 },
    ];
    expect(resolveSenml(pack, nowS)).toEqual([
      { n: "2001:db8::2/temperature", u: "Cel", t: 1320078429, v: 25.2 },
      { n: "2001:db8::2/humidity", u: "%RH", t: 1320078429, v: 30 },
      { n: "2001:db8::1/temperature", u: "Cel", t: 1320078429, v: 12.3 },
      { n: "2001:db8::1/humidity", u: "%RH", t: 1320078429, v: 67 },
    ]);
  });

  it("resolves §5.1.7, where a first record carries the base name alone", () => {
    const pack = [
      { bn: `${device}:` },
      { n: "temp", u: "Cel", v: 23.1 },
      { n: "heat", u: "/", v: 1 },
      { n: "fan", u: "/", v: 0 },
    ];
    expect(resolveSenml(pack, nowS).map((record) => [record.n, record.v])).toEqual([
      [`${device}:temp`, 23.1],
      [`${device}:heat`, 1],
      [`${device}:fan`, 0],
    ]);
  });
});

describe("the rules of RFC 8428 §4", () => {
  const one = (record: object) => () => resolveSenml([record], nowS);

  it("§4.4 ignores an unknown field and refuses one that ends in an underscore", () => {
    expect(resolveSenml([{ n: "a", v: 1, colour: "green" }], nowS)).toEqual([{ n: "a", t: nowS, v: 1 }]);
    expect(one({ n: "a", v: 1, unit_: "x" })).toThrow(SenmlFault);
  });

  it("§4.4 refuses a version above 10 and a mixture of versions", () => {
    expect(one({ bver: 11, n: "a", v: 1 })).toThrow(/version 11/);
    expect(() =>
      resolveSenml(
        [
          { n: "a", v: 1 },
          { bver: 5, n: "a", v: 1 },
        ],
        nowS,
      ),
    ).toThrow(/version 5 differs/);
    expect(resolveSenml([{ bver: 10, n: "a", v: 1 }], nowS)).toEqual([{ n: "a", t: nowS, v: 1 }]);
  });

  it("§4.5.1 refuses names with other characters, names that start with a sign, and no name", () => {
    for (const n of ["a b", "ä", "/a", "-a", ""]) expect(one({ n, v: 1 })).toThrow(/name/);
  });

  it("§4.5.3 takes times below 2^28 as relative to now, the past negative, and from 2^28 on as absolute", () => {
    const timeOf = (t: number) => resolveSenml([{ n: "a", v: 1, t }], nowS)[0]?.t;
    expect(timeOf(-30)).toBe(nowS - 30);
    expect(timeOf(60)).toBe(nowS + 60);
    expect(timeOf(2 ** 28 - 1)).toBe(nowS + 2 ** 28 - 1);
    expect(timeOf(2 ** 28)).toBe(268_435_456);
  });

  it("§4.5.3 decides on the sum of base time and time", () => {
    expect(resolveSenml([{ bn: "a", bt: 2 ** 28, t: -1, v: 1 }], nowS)[0]?.t).toBe(nowS + 2 ** 28 - 1);
  });

  it("adds base value and base sum, each standing for its absent counterpart", () => {
    expect(resolveSenml([{ bn: "a", bv: 20, v: 1.5 }], nowS)[0]?.v).toBe(21.5);
    expect(resolveSenml([{ bn: "a", bv: 20, t: 0 }], nowS)[0]?.v).toBe(20);
    expect(resolveSenml([{ bn: "a", bs: 100, s: 5 }], nowS)[0]).toEqual({ n: "a", t: nowS, s: 105 });
  });

  it("refuses two values in a record, none at all, and what is no pack", () => {
    expect(one({ n: "a", v: 1, vs: "x" })).toThrow(/more than one value/);
    expect(one({ n: "a" })).toThrow(/no value/);
    for (const pack of [null, {}, [], "x", [1], [{ n: "a", v: "1" }]]) {
      expect(() => resolveSenml(pack, nowS)).toThrow(SenmlFault);
    }
  });
});
