/**
 * A month of an invented shop in simulated time: what is warned of, what reaches a person, and whether anything that mattered
 * was not told in time. What mattered is kept by the simulation itself, from what it made happen, and not from the warnings.
 */
import { pino } from "pino";
import type { Quantity } from "../../collector/readings.ts";
import { Comparisons } from "../../predictor/follow/comparisons.ts";
import { Follow } from "../../predictor/follow/follow.ts";
import { Pots } from "../../predictor/follow/pots.ts";
import { openSqliteStore } from "../../predictor/readings/sqlite.ts";
import type { StoredReading } from "../../predictor/readings/store.ts";
import { inventedSheets } from "../../predictor/records/library.ts";
import { program, Records } from "../../predictor/records/records.ts";
import { shopTimeOf } from "../../predictor/shop-time.ts";
import { EquipmentWatch } from "../../predictor/warnings/equipment-watch.ts";
import { type NoticeData, spanMs } from "../../predictor/warnings/notices.ts";
import { Warnings } from "../../predictor/warnings/warnings.ts";
import { wordsOf } from "../../words/words.ts";
import { Cars, painter } from "./cars.ts";
import { Ears, type Fact } from "./facts.ts";
import { Chance, Diary, dayMs, hourMs, isWork, lookEveryMs, minuteMs, places, shop, startMs } from "./invented-shop.ts";
import { Troubles } from "./troubles.ts";
import { Weather } from "./weather.ts";

export interface MonthAccount {
  seed: number;
  days: number;
  workingMinutes: number;
  /** How often each rule was raised. */
  raised: Record<string, number>;
  /** What reached each person. */
  notices: number;
  gathered: number;
  averagePerTenMinutes: number;
  mostInTenMinutes: number;
  /** Facts that mattered, and those of them that nobody was told of in time. */
  facts: Record<string, number>;
  missed: string[];
}

export async function simulate({ seed, days }: { seed: number; days: number }): Promise<MonthAccount> {
  const chance = new Chance(seed);
  const diary = new Diary();
  let nowMs = startMs;
  const now = () => nowMs;
  const facts: Fact[] = [];
  const note = (fact: Fact) => facts.push(fact);
  const weather = new Weather(chance, days);
  const troubles = new Troubles({ chance, diary, days, note });

  const logger = pino({ level: "silent" });
  const records = new Records({ file: ":memory:", now, clock: () => "synchronised" });
  for (const sheet of inventedSheets()) records.keepSheet(sheet, program);
  const cars = new Cars({ chance, diary, records, now, days, note });
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
    collectors: () => troubles.collectors(),
    clockState: () => troubles.clock,
    storeFault: () => troubles.store,
    storeAway: () => false,
    recordsFault: () => troubles.records,
    shopTime,
    now,
  });
  const words = wordsOf(shop);
  const warnings = new Warnings({ shopFile: shop, follow, records, pots, equipment, shopTime, now, words, logger });
  const notices: NoticeData[] = [];
  const fresh: NoticeData[] = [];
  warnings.onNotice((notice) => fresh.push(notice));
  const ears = new Ears();

  const read = (stepMs: number): StoredReading[] =>
    places.flatMap((place) => {
      const air = weather.at(place, nowMs);
      const sensing = troubles.sensing(place);
      facts.push(...weather.facts(place, air, sensing === null, nowMs, stepMs));
      if (place === shop.mixingPlace) cars.look(air.airC, stepMs);
      if (sensing === "silent") return [];
      const mark = sensing === "stuck" ? { mark: { quality: "bad", why: "stuck" } as const } : {};
      const of = (quantity: Quantity, value: number): StoredReading => ({
        collector: "sim",
        sensor: shop.places[place]?.kind ?? place,
        quantity,
        atMs: nowMs,
        value,
        ...mark,
      });
      return [of("air-humidity", air.rhPercent), of("panel-temperature", air.panelC), of("air-temperature", air.airC)];
    });

  /** People see to most of it after a while. */
  const seen = new Set<string>();
  const answerSome = () => {
    for (const { id, state } of warnings.all()) {
      if (state !== "open" || seen.has(id) || chance.next() >= 0.5) continue;
      seen.add(id);
      diary.at(nowMs + chance.between(5, 25) * minuteMs, () => {
        const isOpen = warnings.all().some((each) => each.id === id && each.state === "open");
        if (isOpen) warnings.answer(id, "seen to", painter);
      });
    }
  };

  const endMs = startMs + days * dayMs;
  let workingMinutes = 0;
  while (nowMs < endMs) {
    const isWorking = isWork(nowMs);
    const stepMs = isWorking ? lookEveryMs.work : lookEveryMs.night;
    nowMs += stepMs;
    if (isWorking) workingMinutes += stepMs / minuteMs;
    diary.until(nowMs);
    follow.committed(await store.append(read(stepMs)));
    // Histories are read beside it.
    await new Promise((resolve) => setImmediate(resolve));
    warnings.check();
    ears.hear(warnings.all(), fresh, nowMs);
    notices.push(...fresh.splice(0));
    if (isWorking) answerSome();
  }
  await follow.stop();
  pots.stop();
  await store.close();
  records.close();

  const due = facts.filter(({ byMs }) => byMs < endMs - hourMs);
  const times = notices.map(({ atMs }) => atMs);
  const inTenMinutes = times.map((fromMs) => times.filter((atMs) => atMs >= fromMs && atMs < fromMs + spanMs).length);
  const countOf = (rule: Fact["rule"]) => due.filter((fact) => fact.rule === rule).length;
  return {
    seed,
    days,
    workingMinutes,
    raised: ears.raised,
    notices: notices.length,
    gathered: notices.filter(({ kind }) => kind === "gathered").length,
    averagePerTenMinutes: (10 * times.filter(isWork).length) / Math.max(1, workingMinutes),
    mostInTenMinutes: Math.max(0, ...inTenMinutes),
    facts: Object.fromEntries(due.map(({ rule }) => [rule, countOf(rule)])),
    missed: due
      .filter((fact) => !ears.wasTold(fact))
      .map(({ rule, what, byMs }) => `${rule}, ${what}, by ${new Date(byMs).toISOString()}`),
  };
}
