import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { ask, openShop, type ServedShop } from "../../tests/served-shop.ts";
import { inventedSheets, readSheetText } from "../records/library.ts";
import {
  type DraftAnswer,
  draftAnswerSchema,
  readDraftsAnswerSchema,
  type SheetFile,
  sheetFileSchema,
  sheetFilesSchema,
} from "./sheet-api.ts";

let shop: ServedShop;
beforeAll(async () => {
  shop = await openShop();
}, 60_000);
afterAll(() => shop.close());

const by = (role: "painter" | "quality" | "installer") => ({ cookie: shop.cookies[role] });
const post = (path: string, body: unknown, role: "painter" | "quality" | "installer" = "quality") =>
  ask(shop, path, body, "POST", by(role));
const check = async (sheet: unknown, language = "en"): Promise<DraftAnswer> =>
  draftAnswerSchema.parse((await ask(shop, `/api/sheet-drafts/check?language=${language}`, { sheet })).body);
const file = async (id: string, revision: number): Promise<SheetFile> =>
  sheetFileSchema.parse((await ask(shop, `/api/sheet-files/${id}/${revision}`)).body);

const draft = (id: string, more: object = {}) => ({
  ...{ id, revision: 1, name: "Invented primer", invented: true, kind: "sealer", film: { dryUm: 30 } },
  stages: [
    { stage: "overcoat", minutesAtC: { "20": 15 } },
    { stage: "sand", minutesAtC: { "20": 75, "30": 40 } },
  ],
  ...more,
});

describe("a draft", () => {
  it("that is sound is answered with its picture, and nothing is kept", async () => {
    const before = sheetFilesSchema.parse((await ask(shop, "/api/sheet-files")).body).sheets.length;
    const { faults, ladder, next } = await check(draft("demo-draft"));
    expect({ faults, next }).toEqual({ faults: [], next: 1 });
    expect(ladder?.stages.map(({ stage }) => stage)).toEqual(["overcoat", "sand", "full-cure"]);
    expect(ladder?.stages[0]?.minutes[ladder.atC.indexOf(20)]).toBeCloseTo(15, 6);
    expect(ladder?.stages[1]?.energies).toHaveLength(1);
    expect(sheetFilesSchema.parse((await ask(shop, "/api/sheet-files")).body).sheets).toHaveLength(before);
  });

  it("that has faults is answered with each, at its field, in the reader's language", async () => {
    const wrong = draft("Demo Draft", {
      film: { dryUm: "thick" },
      limits: { airC: { min: 30, max: 15 } },
      name: undefined,
    });
    const { faults, ladder } = await check(wrong);
    expect(ladder).toBeNull();
    expect(faults.map(({ path, isMissing }) => [path, isMissing])).toEqual([
      ["id", false],
      ["name", true],
      ["film.dryUm", false],
      ["limits.airC", false],
    ]);
    expect(faults[2]).toMatchObject({ found: '"thick"', text: "Takes a number above 0." });
    const german = (await check(wrong, "de")).faults;
    expect(german[2]).toMatchObject({ text: "Hier steht eine Zahl über 0." });
    expect(german[2]?.field).toContain("Trockenschichtdicke");
  });

  it("that lacks minutes is told so, beside its other faults", async () => {
    const { faults } = await check(draft("demo-draft", { name: undefined, stages: [{ stage: "sand" }] }));
    expect(faults.map(({ path, isMissing }) => [path, isMissing])).toEqual([
      ["name", true],
      ["stages.0.minutesAtC", true],
    ]);
  });

  it("that crosses itself is told with both stages and the temperature", async () => {
    const stages = [
      { stage: "sand", minutesAtC: { "20": 20, "60": 5 } },
      { stage: "polish", minutesAtC: { "20": 60, "60": 4 } },
    ];
    const [fault] = (await check(draft("demo-draft", { stages }))).faults;
    expect(fault).toMatchObject({ path: "stages.1.minutesAtC", field: "polish: minutes" });
    expect(fault?.text).toBe("polish must come later than sand at 60 °C: here it takes 4 min against 5 min.");
    expect((await check(draft("demo-draft", { stages }), "de")).faults[0]?.text).toContain("später");
  });

  it("may be anything at all", async () => {
    for (const nothing of [null, 7, "sheet", [], { stages: 5 }, { stages: [null], kinetics: { model: "none" } }]) {
      const { faults, ladder } = await check(nothing);
      expect(ladder).toBeNull();
      expect(faults.length).toBeGreaterThan(0);
      expect(faults.every(({ text, field }) => text !== "" && typeof field === "string")).toBe(true);
    }
  });

  it("of a new sheet says when its short name is taken", async () => {
    const { faults, next } = await check(draft("demo-clear"));
    expect(faults).toMatchObject([{ path: "id", text: expect.stringContaining("demo-clear") }]);
    expect(next).toBe(3);
  });
});

describe("a sheet that a person writes", () => {
  it("is kept by quality and installers only, waits for approval, and new coats take it then", async () => {
    expect((await post("/api/sheet-files", { sheet: draft("demo-own") }, "painter")).status).toBe(403);
    const kept = await post("/api/sheet-files", { sheet: draft("demo-own") }, "installer");
    expect(kept.status).toBe(201);
    const first = sheetFileSchema.parse(kept.body);
    expect(first).toMatchObject({ newestApproved: null, next: 2, changes: null });
    expect(first.revisions).toMatchObject([
      { revision: 1, who: "Installer A", approved: null, coats: 0, reason: null },
    ]);
    const sheets = async () =>
      ((await ask(shop, "/api/sheets")).body as { sheets: { id: string; revision: number }[] }).sheets;
    expect((await sheets()).some(({ id }) => id === "demo-own")).toBe(false);

    expect((await post("/api/sheet-files/demo-own/1/approval", {}, "installer")).status).toBe(403);
    const approved = await post("/api/sheet-files/demo-own/1/approval", {});
    expect(sheetFileSchema.parse(approved.body)).toMatchObject({
      newestApproved: 1,
      revisions: [{ approved: { who: "Quality A", isByAuthor: false } }],
    });
    expect((await sheets()).find(({ id }) => id === "demo-own")?.revision).toBe(1);
    expect((await post("/api/sheet-files/demo-own/1/approval", {})).status).toBe(409);
  });

  it("is revised with what changed and why; coats keep the revision they were laid with", async () => {
    const car = await ask(shop, "/api/cars", {
      job: "J-9",
      name: "Red van",
      place: "booth",
      panels: [{ name: "bonnet" }, { name: "roof" }],
    });
    const coats = `/api/cars/${(car.body as { id: string }).id}/coats`;
    const laid = async (panel: string) =>
      (
        (await ask(shop, coats, { panels: [panel], sheet: "demo-own" })).body as {
          coats: { sheet: { revision: number } }[];
        }
      ).coats[0]?.sheet.revision;
    expect(await laid("bonnet")).toBe(1);

    const stages = [
      { stage: "overcoat", minutesAtC: { "20": 15 } },
      { stage: "sand", minutesAtC: { "20": 80, "30": 40 }, curePercent: 50 },
    ];
    const limits = { airC: { min: 15 } };
    const second = { sheet: draft("demo-own", { revision: 2, stages, limits }), reason: "new print of the sheet" };
    const kept = sheetFileSchema.parse((await post("/api/sheet-files", second)).body);
    expect(kept.changes).toEqual([
      { field: "sand: minutes at 20 °C", was: "75", became: "80" },
      { field: "sand: percentage", was: null, became: "50" },
      { field: "air temperature, at least", was: null, became: "15 °C" },
    ]);
    expect(kept.revisions[0]).toMatchObject({ revision: 2, reason: "new print of the sheet", approved: null });
    expect(await laid("roof")).toBe(1);

    // By the same person, which is said.
    const approved = sheetFileSchema.parse((await post("/api/sheet-files/demo-own/2/approval", {})).body);
    expect(approved.revisions[0]?.approved).toMatchObject({ who: "Quality A", isByAuthor: true });
    expect(await laid("bonnet")).toBe(2);
    expect((await file("demo-own", 1)).revisions.map(({ revision, coats: count }) => [revision, count])).toEqual([
      [2, 1],
      [1, 2],
    ]);
    const listed = sheetFilesSchema.parse((await ask(shop, "/api/sheet-files")).body).sheets;
    expect(listed.find(({ id }) => id === "demo-own")).toMatchObject({ newestApproved: 2, waiting: [] });
  });

  it("is refused in words where somebody else wrote that revision meanwhile", async () => {
    const mine = { sheet: draft("demo-own", { revision: 2, name: "Mine" }) };
    const answer = await ask(shop, "/api/sheet-files?language=de", mine, "POST", by("quality"));
    expect(answer).toMatchObject({ status: 409, body: { detail: expect.stringMatching(/Ausgabe 3|3/) } });
    const ahead = await post("/api/sheet-files", { sheet: draft("demo-own", { revision: 7 }) });
    expect(ahead).toMatchObject({ status: 409, body: { detail: expect.stringContaining("somebody else") } });
  });

  it("is refused where it does not hold together, and nothing is kept", async () => {
    const stages = [
      { stage: "sand", minutesAtC: { "20": 20 } },
      { stage: "sand", minutesAtC: { "20": 30 } },
    ];
    const answer = await post("/api/sheet-files", { sheet: draft("demo-crossed", { stages }) });
    expect(answer).toMatchObject({ status: 400, body: { faults: [{ path: "body.sheet.stages.1.stage" }] } });
    expect((await ask(shop, "/api/sheet-files/demo-crossed/1")).status).toBe(404);
  });

  it("is recorded once where it is sent twice", async () => {
    const send = () =>
      ask(shop, "/api/sheet-files", { sheet: draft("demo-once") }, "POST", {
        ...by("quality"),
        "idempotency-key": "once-0123456789ab",
      });
    expect((await send()).status).toBe(201);
    expect(await send()).toMatchObject({ status: 200, body: { known: true } });
  });
});

describe("a sheet as a file", () => {
  it.each(inventedSheets().map((sheet) => [sheet.id, sheet] as const))(
    "%s is the same when it is read again",
    async (id, sheet) => {
      const response = await fetch(`${shop.base}/api/sheet-files/${id}/${sheet.revision}/yaml`);
      expect(response.headers.get("content-type")).toContain("application/yaml");
      expect(response.headers.get("content-disposition")).toContain(`${id}-${sheet.revision}.yaml`);
      const yaml = await response.text();
      expect(readSheetText(yaml, "yaml")).toEqual([sheet]);
      expect(yaml).toMatch(/^ {6}- \{ stage: /m);
      const read = readDraftsAnswerSchema.parse((await ask(shop, "/api/sheet-drafts/read", { yaml })).body);
      expect(read).toMatchObject({
        faults: [],
        sheets: [{ sheet: { id }, isKeptAlready: true, next: sheet.revision + 1 }],
      });
    },
  );

  it("is told with line and key where it does not fit, that of the ladder too", async () => {
    const read = async (yaml: string) =>
      readDraftsAnswerSchema.parse((await ask(shop, "/api/sheet-drafts/read", { yaml })).body);
    const form = await read(
      "sheets:\n  - id: x\n    revision: 1\n    name: X\n    kind: clearcoat\n    film: { dryUm: 0 }\n    stages: []\n",
    );
    expect(form.sheets).toEqual([]);
    expect(form.faults.map(({ line, key }) => [line, key])).toEqual([
      [6, "sheets.0.film.dryUm"],
      [7, "sheets.0.stages"],
    ]);
    const crossed =
      "sheets:\n  - { id: x, revision: 1, name: X, kind: clearcoat, film: { dryUm: 5 }, stages: [\n    { stage: sand, minutesAtC: { '20': 9 } },\n    { stage: polish, minutesAtC: { '20': 8 } } ] }\n";
    expect((await read(crossed)).faults).toMatchObject([{ line: 4, text: expect.stringContaining("must come later") }]);
    expect((await read("sheets: [")).faults[0]).toMatchObject({ line: 1, key: "(YAML)" });
    expect((await read("")).faults).toHaveLength(1);
  });

  it("is no way to fill the memory: neither by size, nor by depth, nor by aliases", async () => {
    expect((await ask(shop, "/api/sheet-drafts/read", { yaml: "x".repeat(20_001) })).status).toBe(413);
    expect((await ask(shop, "/api/sheet-drafts/read", { yaml: "x".repeat(300_000) })).status).toBe(413);
    const deep = await ask(shop, "/api/sheet-drafts/read", { yaml: "[".repeat(19_000) });
    expect(readDraftsAnswerSchema.parse(deep.body).faults.length).toBeGreaterThan(0);
    const laughs = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"];
    for (let n = 1; n < 9; n++)
      laughs.push(
        `a${n}: &a${n} [${Array(9)
          .fill(`*a${n - 1}`)
          .join(", ")}]`,
      );
    const bomb = await ask(shop, "/api/sheet-drafts/read", { yaml: laughs.join("\n") });
    expect(readDraftsAnswerSchema.parse(bomb.body).faults[0]?.key).toBe("(YAML)");
  });
});
