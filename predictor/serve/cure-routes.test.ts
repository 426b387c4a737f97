import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { air, ask as askShop, openShop, type ServedShop } from "../../tests/served-shop.ts";
import { coatCourseSchema, coatViewSchema, placeViewSchema, potSchema, startBySchema } from "./api.ts";
import { lessonsSchema, whatIfSchema } from "./entries.ts";

let shop: ServedShop;
const ask = (...question: Parameters<typeof askShop> extends [ServedShop, ...infer Rest] ? Rest : never) =>
  askShop(shop, ...question);
const ago = (minutes: number) => new Date(Date.now() - minutes * 60_000).toISOString();
const ahead = (minutes: number) => ago(-minutes);

beforeEach(async () => {
  shop = await openShop();
  for (let minutes = 50; minutes >= 0; minutes -= 5) {
    shop.send(air(18, 50, -60 * minutes));
    shop.send([{ bn: "pi/yard/", n: "air-temperature", u: "Cel", t: -60 * minutes, v: 4 }]);
  }
  await expect.poll(async () => (await wall()).climate.airC?.value).toBe(18);
});
afterEach(async () => {
  await shop.close();
});

const wall = async () => placeViewSchema.parse((await ask("/api/places/booth/wall")).body);

async function aCoat(sheet = "demo-clear", finishedMinutesAgo = 40): Promise<{ car: string; coat: string }> {
  const panels = [{ name: "bonnet" }];
  const car = (await ask("/api/cars", { job: "J-7", name: "Grey van", place: "booth", panels, at: ago(49) })).body;
  const carId = (car as { id: string }).id;
  const finishedAt = ago(finishedMinutesAgo);
  const { body } = await ask(`/api/cars/${carId}/coats`, { panels: ["bonnet"], sheet, finishedAt });
  return { car: carId, coat: (body as { coats: { id: string }[] }).coats[0]?.id ?? "" };
}

describe("a coat's course", () => {
  it("has the air of each place it stood in, its panel and how far it cured, from the finish to now", async () => {
    const { car, coat } = await aCoat();
    await ask(`/api/cars/${car}/moves`, { place: "yard", at: ago(20) });
    const { status, body } = await ask(`/api/coats/${coat}/course?points=8`);
    expect(status).toBe(200);
    const course = coatCourseSchema.parse(body);
    expect(course.bucketSeconds).toBeCloseTo(300, -1);
    expect(course.airC.mean.slice(0, 3)).toEqual([18, 18, 18]);
    expect(course.airC.mean.slice(-3)).toEqual([4, 4, 4]);
    // No panel sensor: the panel is estimated, and follows the air down.
    expect(course.panelC.mean.every((value) => value === null)).toBe(true);
    expect(course.followedPanelC[0]).toBeCloseTo(18, 3);
    expect(course.followedPanelC.at(-1)).toBeLessThan(17);
    const cured = course.curePercent.map((percent) => percent ?? Number.NaN);
    expect(cured).toEqual(cured.toSorted((a, b) => a - b));
    expect(cured[0]).toBeGreaterThan(0);
  });

  it("of one that was finished this moment is a second of nothing yet", async () => {
    const { coat } = await aCoat("demo-clear", 0);
    expect((await ask(`/api/coats/${coat}/course`)).status).toBe(200);
  });
});

describe("checks", () => {
  it("move the times of the coat, are shown with it and in the lesson, and can be withdrawn with a reason", async () => {
    const { coat } = await aCoat();
    const demask = (body: unknown) =>
      coatViewSchema.parse(body).prediction?.stages.find(({ stage }) => stage === "demask");
    const before = demask((await ask(`/api/coats/${coat}`)).body);
    const check = { stage: "demask", ready: false, how: "thumb" };
    const { status, body } = await ask(`/api/coats/${coat}/checks`, check);
    expect(status).toBe(201);
    expect(Date.parse(demask(body)?.likelyAt ?? "")).toBeGreaterThan(Date.parse(before?.likelyAt ?? ""));
    const view = coatViewSchema.parse(body);
    expect(view.checks).toMatchObject([{ ...check, who: "Painter A", withdrawn: null }]);
    expect(view.prediction?.lesson).toMatchObject({
      checks: 1,
      text: expect.stringMatching(/% slower than the sheet, from 1 check$/),
    });
    const { lessons } = lessonsSchema.parse((await ask("/api/lessons")).body);
    expect(lessons.find(({ sheet }) => sheet === "demo-clear")?.checks).toBe(1);

    const withdrawal = { reason: "wrong panel" };
    const withdrawn = await ask(`/api/checks/${view.checks[0]?.id}/withdrawal`, withdrawal);
    expect(demask(withdrawn.body)?.likelyAt).toBe(before?.likelyAt);
    expect(coatViewSchema.parse(withdrawn.body)).toMatchObject({
      checks: [{ withdrawn: { ...withdrawal } }],
      prediction: { lesson: { checks: 0 } },
    });
  });
  it("are refused for a stage that the sheet does not have, naming those it has", async () => {
    const { coat } = await aCoat();
    const check = { stage: "sand", ready: true, how: "sanding" };
    expect(await ask(`/api/coats/${coat}/checks`, check)).toMatchObject({
      status: 409,
      body: { detail: expect.stringContaining("dust free, unmask, reassemble, polish") },
    });
    expect(await ask(`/api/coats/${coat}/checks`, { ...check, stage: "demask", at: ahead(30) })).toMatchObject({
      status: 409,
    });
  });
});

describe("what if", () => {
  it("answers for a move into the cold beside things as they stand, and records nothing", async () => {
    const { car } = await aCoat("demo-clear", 10);
    const steps = [{ kind: "move", at: ahead(1), place: "yard" }];
    const answer = whatIfSchema.parse((await ask("/api/what-if", { car, steps })).body);
    const polish = answer.coats[0]?.stages.find(({ stage }) => stage === "polish");
    expect(polish?.safeEarlierMinutes).toBeLessThan(-20);
    expect(Date.parse(polish?.plan.likelyAt ?? "")).toBeGreaterThan(Date.parse(polish?.asThingsStand.likelyAt ?? ""));
    expect(answer.caution).toContain("isocyanate");
    expect(answer.energy).toBeNull();
    expect((await ask(`/api/cars/${car}`)).body).toMatchObject({ place: { id: "booth" } });
  });
  it("answers for a bake, which is sooner, and for a next coat that would come too late", async () => {
    const { car } = await aCoat("demo-pretreat", 8);
    const late = [{ kind: "next-coat", at: ahead(30), sheet: "demo-surfacer" }];
    expect(whatIfSchema.parse((await ask("/api/what-if", { car, steps: late })).body).nextCoat).toMatchObject({
      state: "too late",
      mustBeDone: ["abrade and pre-treat the bare metal again"],
    });
    const bake = [{ kind: "bake", at: ahead(1), bakeC: 60, minutes: 30 }];
    const baked = whatIfSchema.parse((await ask("/api/what-if", { car, steps: bake })).body);
    expect(baked.coats[0]?.stages.at(-1)?.safeEarlierMinutes).toBeGreaterThan(0);
  });
  it("tells how far the coat will be at an instant ahead when everything stays as it is", async () => {
    const { car } = await aCoat();
    const until = ahead(600);
    const answer = whatIfSchema.parse((await ask("/api/what-if", { car, steps: [], until })).body);
    expect(answer.planEndsAt).toBe(until);
    const now =
      coatViewSchema.parse((await ask(`/api/coats/${answer.coats[0]?.id}`)).body).prediction?.curePercent ?? 0;
    expect(answer.coats[0]?.percentAtPlanEnd.plan).toBeGreaterThan(now + 5);
    expect(await ask("/api/what-if", { car, steps: [], until: ahead(20_000) })).toMatchObject({ status: 400 });
  });
  it("is refused in the words of whoever asks", async () => {
    const { car } = await aCoat();
    const german = async (question: object) =>
      (await ask("/api/what-if?language=de", { car, steps: [], ...question })).body;
    expect(await german({ steps: [{ kind: "bake", at: ahead(5), bakeC: 200, minutes: 30 }] })).toMatchObject({
      detail: "Der Plan passt nicht.",
      faults: [{ path: "steps.0.bakeC", expected: "30 °C bis 90 °C", found: "200" }],
    });
    expect(await german({ steps: [{ kind: "next-coat", at: ahead(5), sheet: "none" }] })).toMatchObject({
      faults: [{ path: "steps.0.sheet", expected: expect.stringMatching(/^eines von .*demo-clear/), found: "none" }],
    });
    expect(await german({ coat: "none" })).toMatchObject({ detail: "Bei Grey van wartet keine Schicht none." });
    expect(await german({ until: ahead(20_000) })).toMatchObject({
      detail: expect.stringContaining("innerhalb einer Woche"),
    });
  });
  it("names everything in a plan that does not fit", async () => {
    const { car } = await aCoat();
    const steps = [
      { kind: "move", at: ahead(1), place: "moon" },
      { kind: "bake", at: ahead(5), bakeC: 200, minutes: 30 },
      { kind: "next-coat", at: ahead(5), sheet: "none" },
    ];
    const wrong = await ask("/api/what-if", { car, steps: steps.slice(0, 2) });
    expect(wrong).toMatchObject({
      status: 400,
      body: { faults: [{ path: "steps.0.place" }, { path: "steps.1.bakeC" }] },
    });
    expect(await ask("/api/what-if", { car, steps: steps.slice(2) })).toMatchObject({
      body: { faults: [{ path: "steps.0.sheet" }] },
    });
    expect(await ask("/api/what-if", { car: "none", steps: [] })).toMatchObject({ status: 404 });
  });
});

describe("start by", () => {
  it("tells in each place when a coat must be finished, and null where even now is too late", async () => {
    const inGoodTime = `/api/start-by?sheet=demo-clear&stage=demask&by=${encodeURIComponent(ahead(180))}`;
    const { answers } = (await ask(inGoodTime)).body as { answers: unknown[] };
    const [booth] = answers.map((each) => startBySchema.parse(each));
    expect(booth?.place.id).toBe("booth");
    const left = (at: string | null | undefined) => (Date.parse(at ?? "") - Date.now()) / 60_000;
    // Invented clear: 30 min at 20 °C, 54 at 10; at 18 °C and with the night ahead more than 30, and safe more than likely.
    expect(left(booth?.likelyFinishBy)).toBeLessThan(150);
    expect(left(booth?.safeFinishBy)).toBeLessThan(left(booth?.likelyFinishBy));
    expect(left(booth?.safeFinishBy)).toBeGreaterThan(100);
    const tooSoon = `/api/start-by?sheet=demo-clear&stage=demask&by=${encodeURIComponent(ahead(20))}`;
    expect((await ask(tooSoon)).body).toMatchObject({ answers: [{ likelyFinishBy: null, safeFinishBy: null }] });
    expect(await ask("/api/start-by?sheet=demo-clear&stage=sand&by=2030-01-01T00:00:00Z")).toMatchObject({
      status: 400,
    });
  });
});

describe("mixes", () => {
  it("start a pot's life by the air where it stands, show it on the wall, and end when it is emptied", async () => {
    const mixed = await ask("/api/mixes", { sheet: "demo-clear", place: "booth", at: ago(20) });
    expect(mixed.status).toBe(201);
    await expect.poll(async () => (await wall()).pots[0]?.state).toBe("good");
    const pot = potSchema.parse((await wall()).pots[0]);
    // 45 min at 20 °C; at 18 °C longer, by 50 kJ/mol 51.8 min.
    expect(pot.usedPercent).toBeCloseTo((100 * 20) / 51.8, 0);
    expect((Date.parse(pot.endsAt ?? "") - Date.parse(pot.mixedAt)) / 60_000).toBeCloseTo(51.8, 0);
    expect(await ask(`/api/mixes/${pot.id}/emptied`, {})).toMatchObject({ status: 201, body: { pots: [] } });
    expect(await ask("/api/mixes", { sheet: "demo-pretreat", place: "booth" })).toMatchObject({ status: 409 });
    expect(await ask("/api/mixes", { sheet: "demo-clear" })).toMatchObject({ status: 409 });
  });
});

describe("a wet film", () => {
  it("is refused where the sheet gives no solids to reckon the dry one by", async () => {
    const { car } = await aCoat();
    const coat = { panels: ["bonnet"], sheet: "demo-pretreat", wetFilm: { wetUm: 120 } };
    expect(await ask(`/api/cars/${car}/coats`, coat)).toMatchObject({
      status: 409,
      body: { detail: expect.stringContaining("no solids by volume") },
    });
  });
});
