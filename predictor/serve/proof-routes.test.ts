import { parse } from "csv-parse/sync";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { air, ask as askShop, openShop, type ServedShop } from "../../tests/served-shop.ts";
import { coatFileSchema, logSchema } from "./proof-api.ts";

let shop: ServedShop;
const ask = (...question: Parameters<typeof askShop> extends [ServedShop, ...infer Rest] ? Rest : never) =>
  askShop(shop, ...question);
const ago = (minutes: number) => new Date(Date.now() - minutes * 60_000).toISOString();
const panels = [{ name: "bonnet" }];

beforeEach(async () => {
  shop = await openShop();
});
afterEach(async () => {
  await shop.close();
});

/** Readings of the booth each five minutes, but for those left out, given in minutes ago. */
async function boothAir(airC: number, { left = (_minutes: number): boolean => false } = {}): Promise<void> {
  for (let minutes = 120; minutes >= 0; minutes -= 5) if (!left(minutes)) shop.send(air(airC, 50, -60 * minutes));
  await expect
    .poll(
      async () =>
        ((await ask("/api/places/booth/wall")).body as { climate: { airC: { value: number } | null } }).climate.airC
          ?.value,
    )
    .toBe(airC);
}

async function aCoat(
  finishedMinutesAgo: number,
  sheet = "demo-clear",
  carId?: string,
): Promise<{ car: string; coat: string }> {
  const car = { job: "J-7", name: "Grey van", place: "booth", panels, at: ago(130) };
  const id = carId ?? ((await ask("/api/cars", car)).body as { id: string }).id;
  const { body } = await ask(`/api/cars/${id}/coats`, {
    panels: ["bonnet"],
    sheet,
    finishedAt: ago(finishedMinutesAgo),
  });
  return { car: id, coat: (body as { coats: { id: string }[] }).coats[0]?.id ?? "" };
}

const file = async (coat: string) => coatFileSchema.parse((await ask(`/api/coats/${coat}/file`)).body);
const log = async (query = "") => logSchema.parse((await ask(`/api/log${query}`)).body);
const asQuality = (path: string, body: object) => ask(path, body, "POST", { cookie: shop.cookies.quality });

describe("a coat's file", () => {
  it("has the figures of the time that counts, the entries in words, and no deviation where all went well", async () => {
    await boothAir(21);
    const { coat } = await aCoat(100);
    const { figures, deviations, state, notYet, entries, head } = await file(coat);
    expect(figures.airC).toMatchObject({ min: 21, mean: expect.closeTo(21, 6), max: 21, minutesOutside: 0 });
    expect(figures.rhPercent).toMatchObject({ min: 50, max: 50 });
    // 21 °C and 50 % have their dew point at 10.2 °C (psychrolib).
    expect(figures.dewMarginC?.mean).toBeCloseTo(10.8, 1);
    expect(figures).toMatchObject({ releaseStage: "polish", isOver: true, gapMinutes: 0, coveredAt: null });
    expect(Date.parse(figures.until)).toBe(
      Date.parse(figures.stages.find(({ stage }) => stage === "polish")?.safeAt ?? ""),
    );
    expect([deviations, state, notYet]).toEqual([[], "ready", null]);
    expect(entries.map(({ text }) => text).join("\n")).toMatch(
      /Came at .*: Booth. Panels: bonnet\nFinished at .*Invented/,
    );
    expect(head.hash).toMatch(/^[0-9a-f]{64}$/);
    const german = coatFileSchema.parse((await ask(`/api/coats/${coat}/file?language=de`)).body);
    expect(german.entries[0]?.text).toContain("Gekommen");
  });

  it("names what went off the sheet: cold, a gap, the next coat too early", async () => {
    await boothAir(9, { left: (minutes) => minutes > 30 && minutes < 75 });
    const { car, coat } = await aCoat(100, "demo-surfacer");
    const next = await aCoat(90, "demo-surfacer", car);
    const under = await file(coat);
    const codes = under.deviations.map(({ code }) => code);
    expect(codes).toEqual(["sprayed-outside-limits", "dried-outside-limits", "covered-early"]);
    // The surfacer's sheet asks for 12 °C at least; ten minutes lie between the two coats.
    expect(under.figures.airC?.minutesOutside).toBeCloseTo(10, 1);
    expect(under.deviations[1]?.text).toBe(
      "It dried outside the limits: air temperature for 10 min, panel temperature for 10 min.",
    );
    const upper = await file(next.coat);
    expect(upper.deviations.map(({ code }) => code)).toEqual(["sprayed-outside-limits", "gap", "dried-outside-limits"]);
    // It is done before the gap is over: only so much of it counts.
    expect(upper.figures.gapMinutes).toBeCloseTo(45 - (Date.now() - Date.parse(upper.figures.until)) / 60_000 + 30, 0);
    const sorted = async () => (await log("?deviation=open&sort=deviations")).rows.map((row) => row.coat);
    await expect.poll(sorted).toEqual([next.coat, coat]);
  });

  it("holds a check against what was promised", async () => {
    await boothAir(21);
    const { coat } = await aCoat(100);
    await ask(`/api/coats/${coat}/checks`, { stage: "demask", ready: false, how: "thumb", at: ago(1) });
    const { deviations, figures } = await file(coat);
    // One check moves the shop's own times, but not by so much that an hour counts as kept.
    expect(figures.stages.find((each) => each.stage === "demask")?.notYetCheckedAt).not.toBeNull();
    expect(deviations.map(({ code }) => code)).toEqual(["not-ready-when-safe"]);
  });
});

describe("a release", () => {
  it("waits for answers and for the safe time or a check, then stands with who said what", async () => {
    await boothAir(21, { left: (minutes) => minutes > 60 && minutes < 85 });
    const { coat } = await aCoat(100);
    expect((await file(coat)).notYet).toContain("without readings for a time");
    expect((await asQuality(`/api/coats/${coat}/sign-offs`, { meaning: "released" })).status).toBe(409);
    const answer = { deviation: "gap", answer: "sensor changed; felt by hand" };
    expect((await ask(`/api/coats/${coat}/deviation-answers`, answer)).status).toBe(403);
    const answered = coatFileSchema.parse((await asQuality(`/api/coats/${coat}/deviation-answers`, answer)).body);
    expect(answered).toMatchObject({ notYet: null, deviations: [{ code: "gap", answers: [{ who: "Quality A" }] }] });
    const released = await asQuality(`/api/coats/${coat}/sign-offs`, { meaning: "released for delivery" });
    expect(released.status).toBe(201);
    expect(coatFileSchema.parse(released.body)).toMatchObject({
      state: "released",
      verdict: { state: "released", words: "released for delivery", who: "Quality A", role: "quality" },
    });
    expect((await asQuality(`/api/coats/${coat}/sign-offs`, { meaning: "again" })).status).toBe(409);
    expect((await asQuality(`/api/coats/${coat}/hold`, { reason: "a claim" })).body).toMatchObject({ state: "held" });
    expect((await asQuality(`/api/coats/${coat}/sign-offs`, { meaning: "released" })).status).toBe(409);
    expect((await asQuality(`/api/coats/${coat}/reopening`, { reason: "settled" })).body).toMatchObject({
      verdict: null,
    });
  });

  it("is refused while it is only drying, and allowed once a check finds it ready", async () => {
    await boothAir(21);
    const { coat } = await aCoat(20);
    expect((await file(coat)).notYet).toMatch(/^Safe for polish at \d\d:\d\d/);
    await ask(`/api/coats/${coat}/checks`, { stage: "polish", ready: true, how: "nail" });
    expect((await file(coat)).notYet).toBeNull();
  });
});

describe("the log", () => {
  it("has every coat with what came of it, by filter and page, and as CSV", async () => {
    await boothAir(21);
    const first = await aCoat(100);
    const second = await aCoat(20);
    await expect.poll(async () => (await log()).rows.map(({ coat }) => coat)).toEqual([second.coat, first.coat]);
    const { rows, choices } = await log("?state=ready");
    expect(rows).toMatchObject([
      { coat: first.coat, job: "J-7", state: "ready", place: { id: "booth" }, deviations: [] },
    ]);
    expect(choices).toMatchObject({ panels: ["bonnet"], people: ["Painter A"], sheets: [{ id: "demo-clear" }] });
    expect(await log("?size=1&page=2")).toMatchObject({ total: 2, pages: 2, rows: [{ coat: first.coat }] });
    expect((await ask("/api/log?sort=none")).status).toBe(400);

    const response = await fetch(`${shop.base}/api/log.csv?order=up`);
    expect(response.headers.get("content-type")).toContain("text/csv");
    const lines = parse(await response.text(), { columns: true }) as Record<string, string>[];
    expect(lines.map(({ coat }) => coat)).toEqual([first.coat, second.coat]);
    expect(lines[0]).toMatchObject({ job: "J-7", state: "ready", air_mean_c: "21", panels: "bonnet", deviations: "" });
    expect((await fetch(`${shop.base}/api/log.csv?deviation=none`)).status).toBe(400);
  });

  it("follows a correction, a withdrawal and a release", async () => {
    await boothAir(21);
    const { coat } = await aCoat(100);
    await expect.poll(async () => (await log()).total).toBe(1);
    await asQuality(`/api/coats/${coat}/sign-offs`, { meaning: "released" });
    await expect.poll(async () => (await log()).rows[0]?.state).toBe("released");
    await asQuality(`/api/coats/${coat}/reopening`, { reason: "wrong one" });
    await ask(`/api/coats/${coat}/withdrawal`, { reason: "wrong car" });
    await expect.poll(async () => (await log()).rows[0]?.state).toBe("withdrawn");
  });

  it("takes in readings that come late", async () => {
    await boothAir(21, { left: (minutes) => minutes > 60 && minutes < 85 });
    await aCoat(100);
    await expect.poll(async () => (await log("?deviation=gap")).total).toBe(1);
    for (let minutes = 84; minutes > 60; minutes -= 4) shop.send(air(21, 50, -60 * minutes));
    await expect.poll(async () => (await log("?deviation=gap")).total).toBe(0);
  });
});
