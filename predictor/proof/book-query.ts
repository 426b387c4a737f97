/** What one can ask the book of coats, as SQL. */
import type { BookState } from "./book-row.ts";
import { type DeviationCode, deviationCodes } from "./coat-figures.ts";

export interface BookQuery {
  /** All shops when absent. */
  shop?: string | undefined;
  fromMs?: number | undefined;
  toMs?: number | undefined;
  /** Part of the job number or the car's name. */
  car?: string | undefined;
  panel?: string | undefined;
  sheet?: string | undefined;
  place?: string | undefined;
  who?: string | undefined;
  deviation?: DeviationCode | "any" | "open" | undefined;
  state?: BookState | undefined;
  sort: BookSort;
  order: "down" | "up";
}

const stateSql = `CASE WHEN is_withdrawn = 1 THEN 'withdrawn' WHEN verdict IS NOT NULL THEN verdict
  WHEN safe_at_ms IS NOT NULL AND safe_at_ms <= @nowMs THEN 'ready' ELSE 'drying' END`;
const sortSql = {
  shop: ["shop"],
  finished: [],
  car: ["car COLLATE NOCASE"],
  sheet: ["sheet_name COLLATE NOCASE"],
  place: ["place"],
  who: ["who COLLATE NOCASE"],
  deviations: ["open_deviations", "deviation_count"],
  state: [stateSql],
} as const;
export type BookSort = keyof typeof sortSql;
export const bookSorts = Object.keys(sortSql) as BookSort[];

export type Bound = Record<string, string | number>;

/** A question as SQL. Every value is bound; what is not is named here. */
export function asked(query: BookQuery, nowMs: number): { where: string; order: string; bound: Bound } {
  const { shop, fromMs, toMs, car, panel, sheet, place, who, deviation, state, sort, order } = query;
  const wanted: [sql: string, bound: Bound][] = [];
  if (shop !== undefined) wanted.push(["shop = @shop", { shop }]);
  if (fromMs !== undefined) wanted.push(["finished_at_ms >= @fromMs", { fromMs }]);
  if (toMs !== undefined) wanted.push(["finished_at_ms < @toMs", { toMs }]);
  if (car !== undefined) {
    wanted.push([
      "(job LIKE @car ESCAPE '\\' OR car LIKE @car ESCAPE '\\')",
      { car: `%${car.replaceAll(/[\\%_]/g, "\\$&")}%` },
    ]);
  }
  if (panel !== undefined)
    wanted.push(["(shop, coat) IN (SELECT shop, coat FROM coat_panels WHERE panel = @panel)", { panel }]);
  if (sheet !== undefined) wanted.push(["sheet_id = @sheet", { sheet }]);
  if (place !== undefined) wanted.push(["place = @place", { place }]);
  if (who !== undefined) wanted.push(["who = @who", { who }]);
  if (deviation === "any") wanted.push(["deviation_count > 0", {}]);
  else if (deviation === "open") wanted.push(["open_deviations > 0", {}]);
  else if (deviation !== undefined && deviationCodes.includes(deviation)) {
    wanted.push(["instr(deviations, @deviation) > 0", { deviation: JSON.stringify(deviation) }]);
  }
  if (state !== undefined) wanted.push([`${stateSql} = @state`, { state }]);
  const direction = order === "down" ? "DESC" : "ASC";
  return {
    where: wanted.length === 0 ? "" : `WHERE ${wanted.map(([sql]) => sql).join(" AND ")}`,
    order: `ORDER BY ${[...sortSql[sort], "finished_at_ms", "shop", "coat"].map((key) => `${key} ${direction}`).join(", ")}`,
    bound: Object.assign({ nowMs }, ...wanted.map(([, bound]) => bound)) as Bound,
  };
}
