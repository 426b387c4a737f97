/**
 * A month of an invented shop in simulated time: what is warned of, what reaches a person, and whether anything that mattered
 * was left out. The facts that mattered are kept by the simulation itself, from what it made happen, and not from the warnings.
 */
import { pino } from "pino";
import type { Quantity } from "../../collector/readings.ts";
import { dewPointC } from "../../predictor/air/humidity.ts";
import { Comparisons } from "../../predictor/follow/comparisons.ts";
import { Follow } from "../../predictor/follow/follow.ts";
import { Pots } from "../../predictor/follow/pots.ts";
import { openSqliteStore } from "../../predictor/readings/sqlite.ts";
import type { StoredReading } from "../../predictor/readings/store.ts";
import { inventedSheets } from "../../predictor/records/library.ts";
import { type By, program, Records } from "../../predictor/records/records.ts";
import { shopFileSchema } from "../../predictor/shop-file.ts";
import { shopTimeOf } from "../../predictor/shop-time.ts";
import { EquipmentWatch } from "../../predictor/warnings/equipment-watch.ts";
import type { NoticeData } from "../../predictor/warnings/notices.ts";
import { type Warning, Warnings } from "../../predictor/warnings/warnings.ts";
import { wordsOf } from "../../words/words.ts";

const minuteMs = 60_000;
const hourMs = 60 * minuteMs;
const dayMs = 24 * hourMs;
const startMs = Date.parse("2026-02-02T00:00:00Z");
/** Looked at this often: every minute while people work, every five at night. The real one looks every two seconds. */
const stepMs = { work: minuteMs, night: 5 * minuteMs };
const work = { fromHour: 7.5, toHour: 17 };

const painter: By = { who: "invented painter", role: "painter" };
const place = (name: string, kind: string, sheets: string[]) => ({
  name,
  kind,
  sheets,
  sensors: {
    "air-temperature": `sim/${kind}`,
    "air-humidity": `sim/${kind}`,
    "panel-temperature": `sim/${kind}`,
  },
});
const shop = {
  ...shopFileSchema.parse({
    shop: "simulated",
    name: "Simulated shop",
    invented: true,
    timeZone: "Etc/UTC",
    workday: { days: ["mon", "tue", "wed", "thu", "fri"], from: "07:30", to: "17:00" },
    places: {
      booth: place("Booth", "booth", ["demo-clear", "demo-solvent-base", "demo-sealer"]),
      prep: place("Prep", "prep", ["demo-surfacer", "demo-pretreat"]),
      workshop: place("Workshop", "workshop", []),
      mixing: place("Mixing", "mixing", []),
    },
    collectors: { sim: { elsewhere: true, sensors: ["booth", "prep", "workshop", "mixing"] } },
    mixingPlace: "mixing",
  }),
  folder: ".",
};
const places = Object.keys(shop.places);

/** Mulberry32: the same seed, the same month. */
function randomOf(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** Something that happened, that someone had to be told of within so many minutes. */
interface Fact {
  rule: Warning["rule"];
  /** In this place, or about this car. */
  where: string;
  fromMs: number;
  untilMs: number;
}

export interface MonthAccount {
  seed: number;
  days: number;
  workingMinutes: number;
  /** How often each rule was raised. */
  raised: Record<string, number>;
  notices: number;
  gathered: number;
  averagePerTenMinutes: number;
  mostInTenMinutes: number;
  /** Facts that mattered, and those of them that nobody was told of. */
  facts: Record<string, number>;
  missed: string[];
}

export async function simulate({ seed, days }: { seed: number; days: number }): Promise<MonthAccount> {
  const random = randomOf(seed);
  const between = (low: number, high: number) => low + (high - low) * random();
  let nowMs = startMs;
  const now = () => nowMs;
  const logger = pino({ level: "silent" });
  const records = new Records({ file: ":memory:", now, clock: () => "synchronised" });
  for (const sheet of inventedSheets()) records.keepSheet(sheet, program);
  const store = openSqliteStore(":memory:");
  const shopTime = shopTimeOf(shop);
  const follow = new Follow({ store, records, shopFile: shop, offsetMs: shopTime.offsetMs, now, logger });
  await follow.start();
  const pots = new Pots({ store, records, places: shop.places, follow, now, logger });
  await pots.start();
  const equipment = new EquipmentWatch({
    shopFile: shop,
    follow,
    comparisons: new Comparisons(store, shop.places),
    collectors: () => new Map(),
    clockState: () => "synchronised",
    storeFault: () => null,
    recordsFault: () => null,
    shopTime,
    now,
  });
  const words = wordsOf(shop);
  const warnings = new Warnings({ shopFile: shop, follow, records, pots, equipment, shopTime, now, words, logger });
  const notices: NoticeData[] = [];
  warnings.onNotice((notice) => notices.push(notice));

  const facts: Fact[] = [];
  /** Raised warnings, with where and when. */
  const said = new Map<
    string,
    { rule: string; place: string; carId: string | null; fromMs: number; endedMs: number }
  >();
  const raised: Record<string, number> = {};
  const dew = new Map<string, number>();
  const faults = new Map<string, { kind: "silent" | "stuck"; untilMs: number; fromMs: number }>();
  const plan: { atMs: number; act: () => void }[] = [];
  const at = (atMs: number, act: () => void) => plan.push({ atMs, act });
  let damp = 0;
  let workingMinutes = 0;

  const isWork = (atMs: number) => {
    const day = new Date(atMs).getUTCDay();
    const hour = (atMs % dayMs) / hourMs;
    return day >= 1 && day <= 5 && hour >= work.fromHour && hour < work.toHour;
  };

  /** The air of a place: a daily swing, heating by day, a damp day now and then, a door that opens. */
  const air = (where: string, atMs: number) => {
    const hour = (atMs % dayMs) / hourMs;
    const swing = Math.sin(((hour - 9) / 24) * 2 * Math.PI);
    const isHeated = where !== "workshop" || (hour > 6 && hour < 18);
    const airC = (isHeated ? 20.5 : 13.5) + 1.2 * swing + between(-0.15, 0.15);
    const rhPercent = Math.min(97, 47 + damp - 4 * swing + between(-0.6, 0.6));
    return { airC, rhPercent, panelC: airC - 0.4 };
  };

  const read = (): StoredReading[] => {
    const readings: StoredReading[] = [];
    for (const where of places) {
      const { airC, rhPercent, panelC } = air(where, nowMs);
      const fault = faults.get(where);
      if (fault !== undefined && nowMs >= fault.untilMs) faults.delete(where);
      const margin = panelC - dewPointC(airC, rhPercent);
      const isJudged = where === "booth" || where === "prep";
      if (isJudged && fault === undefined && margin < 2.9) dew.set(where, dew.get(where) ?? nowMs);
      else if (margin > 3.1 || fault !== undefined) {
        const sinceMs = dew.get(where);
        dew.delete(where);
        if (sinceMs !== undefined && nowMs - sinceMs >= 5 * minuteMs) {
          facts.push({ rule: "dew-point-margin", where, fromMs: sinceMs, untilMs: nowMs });
        }
      }
      if (fault?.kind === "silent") continue;
      const values: [Quantity, number][] = [
        ["air-humidity", rhPercent],
        ["panel-temperature", panelC],
        ["air-temperature", airC],
      ];
      for (const [quantity, value] of values) {
        const mark = fault?.kind === "stuck" ? { mark: { quality: "bad", why: "stuck" } as const } : {};
        readings.push({ collector: "sim", sensor: where, quantity, atMs: nowMs, value, ...mark });
      }
    }
    return readings;
  };

  /** One car's two days: bare metal to delivery, on time as a rule, and now and then not. */
  const carComes = (atMs: number, number: number) => {
    let carId = "";
    const coat = (sheetId: string, whenMs: number) =>
      at(whenMs, () => {
        const finish = { panels: ["door"], sheetId, finishedAtMs: nowMs, filmUm: null, panelAtFinishC: null };
        records.addCoats(carId, { ...finish, batches: [], sprayCheck: null }, painter);
      });
    const mix = (sheetId: string, whenMs: number, emptiedAfterMinutes: number) =>
      at(whenMs, () => {
        const pot = { sheetId, place: "mixing", mixedAtMs: nowMs, litres: 0.5, batches: [] };
        const { id } = records.addMix(pot, painter);
        at(nowMs + emptiedAfterMinutes * minuteMs, () => records.emptyMix(id, nowMs, painter));
        // Used up in time, as a rule; a pot that stands a third longer than its sheet says at 20 °C was over.
        const life = records.sheets().find((sheet) => sheet.id === sheetId)?.potLifeMinutesAt20C ?? 0;
        if (emptiedAfterMinutes > life * 1.35) {
          const overMs = nowMs + life * 1.35 * minuteMs;
          facts.push({ rule: "pot-life", where: "", fromMs: overMs - 30 * minuteMs, untilMs: overMs });
        }
      });
    const move = (where: string | null, whenMs: number) =>
      at(whenMs, () => records.addMove(carId, where, nowMs, painter));
    const promisedAtMs = number % 3 === 0 ? Math.round(atMs + 7 * hourMs) : null;
    at(atMs, () => {
      const panels = [{ name: "door", substrate: "steel" as const }];
      const car = {
        job: `S-${number}`,
        name: `Car ${number}`,
        colour: null,
        promisedAtMs,
        panels,
        place: "prep",
        atMs: nowMs,
      };
      carId = records.addCar(car, painter).id;
    });
    let t = atMs + 10 * minuteMs;
    coat("demo-pretreat", t);
    const isLate = random() < 0.06;
    const pretreatedMs = t;
    if (isLate) {
      // Uncovered when its quarter of an hour is over: someone had to be told before, and after.
      at(pretreatedMs, () => {
        facts.push({
          rule: "window-closing",
          where: carId,
          fromMs: pretreatedMs,
          untilMs: pretreatedMs + 15 * minuteMs,
        });
        facts.push({
          rule: "window-missed",
          where: carId,
          fromMs: pretreatedMs + 15 * minuteMs,
          untilMs: pretreatedMs + 20 * minuteMs,
        });
      });
    }
    t += (isLate ? between(25, 40) : between(5, 9)) * minuteMs;
    mix("demo-surfacer", t - 4 * minuteMs, random() < 0.08 ? 70 : between(8, 25));
    coat("demo-surfacer", t);
    move("workshop", t + between(12, 25) * minuteMs);
    t += between(70, 110) * minuteMs;
    move("booth", t);
    t += 12 * minuteMs;
    coat("demo-sealer", t);
    t += between(20, 30) * minuteMs;
    coat("demo-solvent-base", t);
    t += between(15, 25) * minuteMs;
    mix("demo-clear", t - 6 * minuteMs, random() < 0.05 ? 90 : between(10, 25));
    coat("demo-clear", t);
    move("workshop", t + between(45, 70) * minuteMs);
    move(null, t + between(20, 26) * hourMs);
  };

  let number = 0;
  for (let day = 0; day < days; day++) {
    const midnightMs = startMs + day * dayMs;
    const weekday = new Date(midnightMs).getUTCDay();
    const isDamp = random() < 0.12;
    at(midnightMs + 5 * hourMs, () => {
      damp = isDamp ? between(28, 38) : between(-4, 6);
    });
    if (random() < 0.15) {
      const where = places[Math.floor(random() * places.length)] ?? "booth";
      const kind = random() < 0.6 ? ("silent" as const) : ("stuck" as const);
      const fromMs = midnightMs + between(8, 15) * hourMs;
      const untilMs = fromMs + between(20, 120) * minuteMs;
      at(fromMs, () => {
        faults.set(where, { kind, fromMs, untilMs });
        facts.push({ rule: kind === "silent" ? "silent-sensor" : "bad-sensor", where, fromMs, untilMs });
      });
    }
    if (weekday < 1 || weekday > 5) continue;
    for (const hour of [7.7, 9.6, 11.9, 13.8]) {
      number += 1;
      carComes(midnightMs + (hour + between(-0.1, 0.1)) * hourMs, number);
    }
  }

  const endMs = startMs + days * dayMs;
  const answering = new Set<string>();
  while (nowMs < endMs) {
    const working = isWork(nowMs);
    nowMs += working ? stepMs.work : stepMs.night;
    if (working) workingMinutes += stepMs.work / minuteMs;
    plan.sort((a, b) => a.atMs - b.atMs);
    while ((plan[0]?.atMs ?? Number.POSITIVE_INFINITY) <= nowMs) plan.shift()?.act();
    follow.committed(await store.append(read()));
    // Histories are read beside it.
    await new Promise((resolve) => setImmediate(resolve));
    warnings.check();
    const standing = warnings.all();
    for (const [id, each] of said) {
      if (each.endedMs === Number.POSITIVE_INFINITY && !standing.some((warning) => warning.id === id))
        each.endedMs = nowMs;
    }
    for (const warning of standing) {
      if (!said.has(warning.id)) {
        const { rule, carId } = warning;
        said.set(warning.id, {
          rule,
          place: warning.place,
          carId,
          fromMs: warning.sinceMs,
          endedMs: Number.POSITIVE_INFINITY,
        });
        raised[rule] = (raised[rule] ?? 0) + 1;
      }
      // People see to most of it after a while.
      if (working && warning.state === "open" && !answering.has(warning.id) && random() < 0.5) {
        answering.add(warning.id);
        const { id } = warning;
        at(nowMs + between(5, 25) * minuteMs, () => {
          if (warnings.all().some((each) => each.id === id && each.state === "open"))
            warnings.answer(id, "seen to", painter);
        });
      }
    }
  }
  await follow.stop();
  pots.stop();
  await store.close();
  records.close();

  /** A fact must be told while it lasts or within five minutes, or be told already: the delays of its rule and the steps here. */
  const isTold = (fact: Fact) =>
    [...said.values()].some(
      ({ rule, place: where, carId, fromMs, endedMs }) =>
        (rule === fact.rule || (fact.rule === "dew-point-margin" && rule === "condensation")) &&
        (fact.where === "" || fact.where === where || fact.where === carId) &&
        endedMs >= fact.fromMs &&
        fromMs <= Math.max(fact.untilMs, fact.fromMs + 10 * minuteMs) + 5 * minuteMs,
    );
  const due = facts.filter(({ untilMs }) => untilMs < endMs - hourMs);
  const times = notices.map(({ atMs }) => atMs);
  const inTenMinutes = times.map(
    (fromMs) => times.filter((atMs) => atMs >= fromMs && atMs < fromMs + 10 * minuteMs).length,
  );
  return {
    seed,
    days,
    workingMinutes,
    raised,
    notices: notices.length,
    gathered: notices.filter(({ kind }) => kind === "gathered").length,
    averagePerTenMinutes: (10 * notices.filter(({ atMs }) => isWork(atMs)).length) / Math.max(1, workingMinutes),
    mostInTenMinutes: Math.max(0, ...inTenMinutes),
    facts: Object.fromEntries(
      [...new Set(due.map(({ rule }) => rule))].map((rule) => [rule, due.filter((fact) => fact.rule === rule).length]),
    ),
    missed: due
      .filter((fact) => !isTold(fact))
      .map(({ rule, where, fromMs }) => `${rule} ${where} ${new Date(fromMs).toISOString()}`),
  };
}
