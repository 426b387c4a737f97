import { afterEach, describe, expect, it } from "vitest";
import { air, ask, openShop, type ServedShop } from "../../tests/served-shop.ts";
import { coatViewSchema, placeViewSchema } from "./api.ts";
import { knownPanelsSchema, mixQuantitySchema, sprayOutlookSchema } from "./work-api.ts";

let shop: ServedShop;
afterEach(() => shop.close());

async function open(rhPercent = 50, more = ""): Promise<void> {
  shop = await openShop(more);
  for (let minutes = 20; minutes >= 0; minutes -= 5) shop.send(air(20, rhPercent, -60 * minutes));
  const wall = async () => placeViewSchema.parse((await ask(shop, "/api/places/booth/wall")).body);
  await expect.poll(async () => (await wall()).climate.rhPercent?.value).toBe(rhPercent);
}

describe("GET /api/spray-check", () => {
  it("answers with every limit, its source and sensor, the hours ahead, and the cautions of sheet and work", async () => {
    await open(76);
    const { status, body } = await ask(shop, "/api/spray-check?place=booth&sheet=demo-clear");
    expect(status).toBe(200);
    const outlook = sprayOutlookSchema.parse(body);
    expect(outlook.now.state).toBe("do not spray");
    expect(outlook.reason).toBe("Not now: humidity 76 %, at most 75 %.");
    expect(outlook.now.limits.find(({ what }) => what === "humidity")).toMatchObject({
      value: 76,
      max: 75,
      margin: -1,
      state: "outside",
      source: "sheet",
      sensor: "pi/air",
    });
    expect(outlook.now.limits.find(({ what }) => what === "panel temperature")?.state).toBe("not measured");
    expect(outlook.ahead).toHaveLength(24);
    expect(outlook.ahead[0]).toMatchObject({ state: "do not spray", worst: "humidity 76 %, at most 75 %" });
    expect(outlook.clearanceMinutes).toBeNull();
    const cautions = outlook.cautions.join("\n");
    // The sheet's own first.
    expect(outlook.cautions[0]).toMatch(/Two-pack, contains isocyanates/);
    for (const said of [/Air-fed mask/, /Extraction/, /no exposure is small enough/, /Dust/, /phone/]) {
      expect(cautions).toMatch(said);
    }
  });

  it("speaks the language that is asked for, and gives the clearance time that was measured on site", async () => {
    await open(76, ", site: { clearanceMinutes: 25 }");
    const { body } = await ask(shop, "/api/spray-check?place=booth&sheet=demo-clear&language=de");
    const outlook = sprayOutlookSchema.parse(body);
    expect(outlook.reason).toBe("Jetzt nicht: Luftfeuchte 76 %, höchstens 75 %.");
    expect(outlook.cautions.join()).toContain("Absaugung");
    expect(outlook.clearanceMinutes).toBe(25);
  });

  it("says what is not known", async () => {
    await open();
    expect(await ask(shop, "/api/spray-check?place=cellar&sheet=demo-clear")).toMatchObject({ status: 404 });
    expect(await ask(shop, "/api/spray-check?place=booth&sheet=demo-nothing")).toMatchObject({
      status: 404,
      body: { detail: expect.stringContaining("demo-clear") },
    });
  });
});

describe("a coat that is entered", () => {
  it("keeps the limits as they stood at its finish, with the readings they were judged by", async () => {
    await open(73);
    const at = new Date(Date.now() - 19 * 60_000).toISOString();
    const panels = [{ name: "bonnet" }];
    const car = await ask(shop, "/api/cars", { job: "J-7", name: "Grey van", place: "booth", panels, at });
    const carId = (car.body as { id: string }).id;
    const finishedAt = new Date(Date.now() - 12 * 60_000).toISOString();
    const coat = { panels: ["bonnet"], sheet: "demo-clear", finishedAt };
    const { body } = await ask(shop, `/api/cars/${carId}/coats`, coat);
    const check = coatViewSchema.parse((body as { coats: unknown[] }).coats[0]).sprayCheck;
    expect(check).toMatchObject({ at: finishedAt, place: "booth", sheet: "demo-clear", state: "spray with care" });
    const humidity = check?.limits.find(({ what }) => what === "humidity");
    expect(humidity).toMatchObject({ value: 73, max: 75, state: "close", sensor: "pi/air" });
    // The readings came each five minutes: the one of fifteen minutes ago is the newest before the finish.
    const beforeFinishMs = Date.parse(finishedAt) - Date.parse(humidity?.readingAt ?? "");
    expect(Math.abs(beforeFinishMs - 3 * 60_000)).toBeLessThan(30_000);
  });
});

describe("POST /api/mix-quantity", () => {
  const quantity = (body: object) => ask(shop, "/api/mix-quantity", body);

  it("gives litres, components and pot by the site's figures, for panels and for an area", async () => {
    await open(50, ", site: { transferEfficiencyPercent: 50, wasteLitres: 0, potLitres: [0.5, 0.25] }");
    const { status, body } = await quantity({ sheet: "demo-clear", areaM2: 1, coats: 2 });
    expect(status).toBe(200);
    const answer = mixQuantitySchema.parse(body);
    // 55 µm of 45 % in 3 parts of 3.3, half of it on the panel: 0.055 l ÷ 0.45 × 3.3/3 ÷ 0.5.
    expect(answer.litres).toBeCloseTo(((0.055 / 0.45) * 3.3) / 3 / 0.5, 12);
    expect(answer.components.map(({ component }) => component)).toEqual(["paint", "hardener", "thinner"]);
    expect(answer.potLitres).toBe(0.5);
    expect(answer.assumptions.join("\n")).toMatch(/50 % of what leaves the gun stays on the panel \(as entered/);
    const bonnet = mixQuantitySchema.parse((await quantity({ sheet: "demo-clear", panels: ["bonnet"] })).body);
    expect(bonnet.litres).toBeCloseTo(answer.litres * 1.4, 12);
  });

  it("gives wipes for what is wiped on", async () => {
    await open();
    expect((await quantity({ sheet: "demo-pretreat", areaM2: 2.5 })).body).toMatchObject({ wipes: 3, litres: 0 });
  });

  it("says what is missing, in the language that is asked for", async () => {
    await open();
    expect(await quantity({ sheet: "demo-clear", panels: ["fin"] })).toMatchObject({
      status: 409,
      body: { detail: "No area is known for fin: give the area instead." },
    });
    const german = await ask(shop, "/api/mix-quantity?language=de", { sheet: "demo-clear", panels: [] });
    expect(german).toMatchObject({ status: 409, body: { detail: expect.stringContaining("Mindestens ein Teil") } });
    expect(await quantity({ sheet: "demo-nothing", areaM2: 1 })).toMatchObject({ status: 404 });
    expect(await quantity({ sheet: "demo-clear" })).toMatchObject({ status: 400 });
  });
});

describe("GET /api/panels", () => {
  it("lists the panels of the outline with make and area", async () => {
    await open();
    const { panels } = knownPanelsSchema.parse((await ask(shop, "/api/panels")).body);
    expect(panels).toContainEqual({ name: "front bumper", substrate: "plastic", areaM2: 0.8 });
    expect(panels.every(({ areaM2 }) => areaM2 > 0)).toBe(true);
  });
});
