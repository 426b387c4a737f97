/** What the shop file says of how each sensor's readings are corrected. */
import { type InstrumentSettings, type SourceSettings, sensorsOf } from "../collector/settings.ts";
import { comparedSeriesOf, seriesOf } from "./follow/place-history.ts";
import { type Series, seriesKey } from "./readings/store.ts";
import type { InstrumentSetting } from "./records/records.ts";
import type { ShopFile } from "./shop-file.ts";

type Told = Pick<ShopFile, "places" | "collectors">;

/** Their readings carry instants of their own and are sent on as they come. */
const sentAsTheyCome: readonly SourceSettings["kind"][] = ["playback", "rehearsal"];

/** Every line that a place names, or that `instruments` says something of, with its setting; each once. */
export function instrumentsOf(shop: Told): { line: Series; setting: InstrumentSetting }[] {
  const named = Object.values(shop.places).flatMap((place) => [...seriesOf(place), ...comparedSeriesOf(place)]);
  const described = Object.entries(shop.collectors).flatMap(([collector, { instruments }]) =>
    Object.entries(instruments).flatMap(([sensor, quantities]) =>
      Object.keys(quantities).map((quantity) => ({ collector, sensor, quantity: quantity as Series["quantity"] })),
    ),
  );
  const lines = new Map([...named, ...described].map((line) => [seriesKey(line), line]));
  return [...lines.values()].map((line) => ({ line, setting: instrumentOf(shop, line) }));
}

/** What holds of a line: as it reads, where the shop file says nothing. */
export function instrumentOf({ collectors }: Told, { collector, sensor, quantity }: Series): InstrumentSetting {
  const told: Partial<InstrumentSettings> = collectors[collector]?.instruments[sensor]?.[quantity] ?? {};
  const { slope = 1, offset = 0, calibrated = null, due = null, reference = null } = told;
  return { slope, offset, calibrated, due, reference };
}

/** Whether a collector of ours measures with this sensor: then it corrects and judges what it reads. Readings that come ready made are neither. */
export function isCorrected({ collectors }: Told, { collector, sensor }: Series): boolean {
  return (collectors[collector]?.sources ?? []).some(
    (source) => !sentAsTheyCome.includes(source.kind) && sensorsOf(source).includes(sensor),
  );
}
