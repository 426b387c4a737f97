import { afterAll, beforeAll, describe, expect, it, vi } from "vitest";
import { air, ask, openShop, type ServedShop } from "../../tests/served-shop.ts";
import { coatViewSchema, placeViewSchema } from "./api.ts";
import { knownPanelsSchema, mixQuantitySchema, sprayOutlookSchema } from "./work-api.ts";

let shop: ServedShop;

/** Twenty minutes of damp air in the booth. */
async function open(more = ""): Promise<void> {
  shop = await openShop(more);
  for (let minutes = 20; minutes >= 0; minutes -= 5) shop.send(air(20, 76, -60 * minutes));
  const wall = async () => placeViewSchema.parse((await ask(shop, "/api/places/booth/wall")).body);
  await vi.waitFor(async () => expect((await wall()).climate.rhPercent?.value).toBe(76), { timeout: 5_000 });
}
const outlookOf = async (query: string) =>
  sprayOutlookSchema.parse((await ask(shop, `/api/spray-check?${query}`)).body);
const quantity = (body: object) => ask(shop, "/api/mix-quantity", body);

describe("the work at hand", () => {
  beforeAll(() => open());
  afterAll(() => shop.close());

  it("is a spray check with every limit, its source and sensor, the hours ahead, and the cautions of sheet and work", async () => {
    const outlook = await outlookOf("place=booth&sheet=demo-clear");
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
    // The sheet's own first.
    expect(outlook.cautions[0]).toMatch(/Two-pack, contains isocyanates/);
    const cautions = outlook.cautions.join("\n");
    for (const said of [/Air-fed mask/, /Extraction/, /no exposure is small enough/, /Dust/, /phone/]) {
      expect(cautions).toMatch(said);
    }
  });

  it("is a spray check in the language that is asked for", async () => {
    const outlook = await outlookOf("place=booth&sheet=demo-clear&language=de");
    expect(outlook.reason).toBe("Jetzt nicht: Luftfeuchte 76 %, höchstens 75 %.");
    expect(outlook.cautions.join()).toContain("Absaugung");
  });

  it("says which place or sheet is not known", async () => {
    expect(await ask(shop, "/api/spray-check?place=cellar&sheet=demo-clear")).toMatchObject({ status: 404 });
    expect(await ask(shop, "/api/spray-check?place=booth&sheet=demo-nothing")).toMatchObject({
      status: 404,
      body: { detail: expect.stringContaining("demo-clear") },
    });
    expect(await quantity({ sheet: "demo-nothing", areaM2: 1 })).toMatchObject({ status: 404 });
  });

  it("goes into the record of a coat: the limits as they stood at its finish, by the readings before it", async () => {
    const at = new Date(Date.now() - 19 * 60_000).toISOString();
    const panels = [{ name: "bonnet" }];
    const car = await ask(shop, "/api/cars", { job: "J-7", name: "Grey van", place: "booth", panels, at });
    const finishedAt = new Date(Date.now() - 12 * 60_000).toISOString();
    const coat = { panels: ["bonnet"], sheet: "demo-clear", finishedAt };
    const { body } = await ask(shop, `/api/cars/${(car.body as { id: string }).id}/coats`, coat);
    const check = coatViewSchema.parse((body as { coats: unknown[] }).coats[0]).sprayCheck;
    expect(check).toMatchObject({ at: finishedAt, place: "booth", sheet: "demo-clear", state: "do not spray" });
    const humidity = check?.limits.find(({ what }) => what === "humidity");
    expect(humidity).toMatchObject({ value: 76, max: 75, state: "outside", sensor: "pi/air" });
    // A reading came each five minutes: that of fifteen minutes ago is the newest before the finish.
    const beforeFinishMs = Date.parse(finishedAt) - Date.parse(humidity?.readingAt ?? "");
    expect(Math.abs(beforeFinishMs - 3 * 60_000)).toBeLessThan(60_000);
  });

  it("is how many wipes for what is wiped on", async () => {
    expect((await quantity({ sheet: "demo-pretreat", areaM2: 2.5 })).body).toMatchObject({ wipes: 3, litres: 0 });
  });

  it("says why no amount can be told, in the language that is asked for", async () => {
    expect(await quantity({ sheet: "demo-clear", panels: ["fin"] })).toMatchObject({
      status: 409,
      body: { detail: "No area is known for fin: give the area instead." },
    });
    const german = await ask(shop, "/api/mix-quantity?language=de", { sheet: "demo-clear", panels: [] });
    expect(german).toMatchObject({ status: 409, body: { detail: expect.stringContaining("Mindestens ein Teil") } });
    expect(await quantity({ sheet: "demo-clear" })).toMatchObject({ status: 400 });
  });

  it("knows the panels of the outline with make and area", async () => {
    const { panels } = knownPanelsSchema.parse((await ask(shop, "/api/panels")).body);
    expect(panels).toContainEqual({ name: "front bumper", substrate: "plastic", areaM2: 0.8 });
    expect(panels.every(({ areaM2 }) => areaM2 > 0)).toBe(true);
  });
});

describe("the work at hand where the shop file gives the site's figures", () => {
  beforeAll(() =>
    open(", site: { clearanceMinutes: 25, transferEfficiencyPercent: 50, wasteLitres: 0, potLitres: [0.5, 0.25] }"),
  );
  afterAll(() => shop.close());

  it("has litres, components and pot by those, for an area and for panels", async () => {
    const answer = mixQuantitySchema.parse((await quantity({ sheet: "demo-clear", areaM2: 1, coats: 2 })).body);
    // 55 µm of 45 % in 3 parts of 3.3, half of it on the panel.
    expect(answer.litres).toBeCloseTo(((0.055 / 0.45) * 3.3) / 3 / 0.5, 12);
    expect(answer.components.map(({ component }) => component)).toEqual(["paint", "hardener", "thinner"]);
    expect(answer.potLitres).toBe(0.5);
    expect(answer.assumptions.join("\n")).toMatch(/50 % of what leaves the gun stays on the panel \(as entered/);
    const bonnet = mixQuantitySchema.parse((await quantity({ sheet: "demo-clear", panels: ["bonnet"] })).body);
    expect(bonnet.litres).toBeCloseTo(answer.litres * 1.4, 12);
  });

  it("has the clearance time that was measured there", async () => {
    expect((await outlookOf("place=booth&sheet=demo-clear")).clearanceMinutes).toBe(25);
  });
});
