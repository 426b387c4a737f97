/** How each sensor does, in the words of the API. */
import type { Mark, Quantity } from "../../collector/readings.ts";
import { text } from "../../words/text.ts";
import type { Words } from "../../words/words.ts";
import type { Compared, Comparisons } from "../follow/comparisons.ts";
import type { Follow } from "../follow/follow.ts";
import { comparedSeriesOf, seriesOf } from "../follow/place-history.ts";
import { isCurrent, type NewestReading } from "../follow/place-now.ts";
import type { BrokerLink } from "../readings/link.ts";
import { type Series, seriesKey } from "../readings/store.ts";
import type { InstrumentRecord, Records } from "../records/records.ts";
import type { ShopFile } from "../shop-file.ts";
import { instrumentOf, isCorrected } from "../shop-instruments.ts";
import { equipmentConditions, measured } from "../warnings/equipment.ts";
import type { EquipmentWatch, SensorTroubles } from "../warnings/equipment-watch.ts";
import type { Place } from "./api.ts";
import { type SensorHealth, type SensorSetting, type SensorView, sensorHealths } from "./sensor-api.ts";

export interface SensorViewParts {
  shopFile: ShopFile;
  follow: Pick<Follow, "current" | "newest">;
  comparisons: Pick<Comparisons, "at" | "current" | "newest">;
  equipment: Pick<EquipmentWatch, "at" | "comparedAt">;
  records: Pick<Records, "instruments">;
  link: BrokerLink;
  now: () => number;
}

/** What is asked about one line of a place. */
interface Line {
  place: Place;
  series: Series;
  role: SensorView["role"];
  /** Of all sensors of its role in the place. */
  troubles: SensorTroubles;
  told: Pick<Follow, "current" | "newest">;
  pairs: readonly Compared[];
  nowMs: number;
  records: ReadonlyMap<string, InstrumentRecord>;
}

/** Every sensor of every place, and those they are compared with; the worst first. */
export function sensorViews(parts: SensorViewParts, words: Words): SensorView[] {
  const { shopFile, follow, comparisons, equipment, now } = parts;
  const nowMs = now();
  const records = new Map(parts.records.instruments().map((record) => [seriesKey(record), record]));
  const views = Object.entries(shopFile.places).flatMap(([id, settings]) => {
    const place = { id, name: settings.name, kind: settings.kind };
    const common = { place, records, nowMs, pairs: comparisons.at(id, nowMs) };
    const reckoned = { ...common, role: "reckoned" as const, troubles: equipment.at(id), told: follow };
    const compared = { ...common, role: "compared" as const, troubles: equipment.comparedAt(id), told: comparisons };
    return [
      ...seriesOf(settings).map((series) => sensorView({ ...reckoned, series }, parts, words)),
      ...comparedSeriesOf(settings).map((series) => sensorView({ ...compared, series }, parts, words)),
    ];
  });
  return views.sort((a, b) => rankOf(a) - rankOf(b));
}

function sensorView(line: Line, parts: SensorViewParts, words: Words): SensorView {
  const { place, series, role, told } = line;
  const { shopFile, link } = parts;
  const { quantity } = series;
  const newest = told.newest(place.id, quantity);
  const cadenceMs = told.current(place.id, quantity)?.cadenceMs ?? null;
  const state = link.collectors().get(series.collector);
  const setting = instrumentOf(shopFile, series);
  const trouble = troubleOf(line);
  const health = healthOf(line, trouble);
  return {
    place,
    quantity,
    sensor: nameOf(series),
    role,
    health,
    troubles: saidOf(trouble, health === "fast change" ? newest : undefined, quantity).map(({ text, action }) => ({
      text: words.say(text),
      action: words.say(action),
    })),
    newest:
      newest === undefined
        ? null
        : { value: newest.value, at: iso(newest.atMs), isUsed: newest.mark?.quality !== "bad" },
    cadenceSeconds: cadenceMs === null ? null : cadenceMs / 1000,
    collector:
      state === undefined ? null : { isOnline: state.online, since: state.since, packsWaiting: state.outboxPacks },
    setting,
    due: dueOf(setting, trouble),
    isCorrected: isCorrected(shopFile, series),
    history: (line.records.get(seriesKey(series))?.history ?? []).map(({ setAtMs, ...was }) => ({
      ...was,
      at: iso(setAtMs),
    })),
    neighbour: neighbourOf(line, shopFile),
  };
}

/** In the words of the warnings. Nobody is warned of a doubtful reading, since it is used; here it is told. */
function saidOf(trouble: Trouble, doubtful: NewestReading | undefined, quantity: Quantity) {
  const warned = equipmentConditions({
    ...trouble,
    calibrations: [],
    machines: [],
    storeFault: null,
    storeAway: false,
    recordsFault: null,
  });
  if (doubtful === undefined) return warned;
  const value = measured(quantity, doubtful.value);
  return [...warned, { text: text("sensors.doubtful", { value }), action: text("sensors.doubtful.do") }];
}

/** Of the equipment of its place, what is about this sensor. */
function troubleOf({ series, pairs, troubles }: Line) {
  const { quantity } = series;
  const sensor = nameOf(series);
  const isIts = (each: { quantity: string; sensor: string }) => each.quantity === quantity && each.sensor === sensor;
  return {
    silent: troubles.silent.filter(isIts),
    bad: troubles.bad.filter(isIts),
    differing: pairs.filter((pair) => pair.quantity === quantity && pair.differs !== "no"),
    calibrations: troubles.calibrations.filter(isIts),
  };
}

type Trouble = ReturnType<typeof troubleOf>;

function healthOf({ told, place, series, nowMs }: Line, { silent, bad, differing }: Trouble): SensorHealth {
  if (silent.length > 0) return "silent";
  if (bad[0] !== undefined) return bad[0].why;
  if (differing[0] !== undefined) return differing[0].differs === "now" ? "disagrees" : "drifts";
  const newest = told.newest(place.id, series.quantity);
  const current = told.current(place.id, series.quantity);
  if (newest === undefined || current === undefined || !isCurrent(current, nowMs)) return "awaited";
  return isDoubtful(newest.mark) ? "fast change" : "sound";
}

const isDoubtful = (mark: Mark | undefined): boolean => mark?.quality === "doubtful";

function dueOf({ due }: SensorSetting, { calibrations }: Trouble): SensorView["due"] {
  if (due === null) return "undated";
  if (calibrations[0] === undefined) return "later";
  return calibrations[0].isOver ? "over" : "soon";
}

function neighbourOf({ place, series, role, pairs }: Line, { places }: ShopFile): SensorView["neighbour"] {
  const settings = places[place.id];
  if (settings === undefined) return null;
  const others = role === "reckoned" ? comparedSeriesOf(settings) : seriesOf(settings);
  const other = others.find(({ quantity }) => quantity === series.quantity);
  if (other === undefined) return null;
  const pair = pairs.find(({ quantity }) => quantity === series.quantity);
  if (pair === undefined) return { sensor: nameOf(other), difference: null };
  const { differs, overHours } = pair;
  const byMedian = role === "reckoned" ? pair.byMedian : -pair.byMedian;
  return { sensor: nameOf(other), difference: { byMedian, overHours, differs } };
}

/** By health; among equals those whose calibration is due. */
function rankOf({ health, due }: SensorView): number {
  const dueRank = { over: 0, soon: 1, later: 2, undated: 2 }[due];
  return sensorHealths.indexOf(health) * 3 + dueRank;
}

const iso = (ms: number): string => new Date(ms).toISOString();
export const nameOf = ({ collector, sensor }: Series): string => `${collector}/${sensor}`;
