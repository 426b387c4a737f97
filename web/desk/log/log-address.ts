/** The address of the log: what is asked for stands in it, so that a link shows the same. Its days are the shop's. */
import type { OfficeLogQuery } from "../../../predictor/serve/office-api.ts";
import type { ShopClock } from "../../parts/shop-clock.ts";

type Sort = OfficeLogQuery["sort"];

/** `shop` at a head office only. */
export const filters = ["shop", "from", "to", "car", "panel", "sheet", "place", "who", "deviation", "state"] as const;
export type Filter = (typeof filters)[number];

export interface LogAsk {
  /** As they stand in the address; empty where nothing is asked. `from` and `to` are days, both included. */
  by: Record<Filter, string>;
  sort: Sort;
  order: OfficeLogQuery["order"];
  page: number;
}

const sorts: Record<Sort, true> = {
  shop: true,
  finished: true,
  car: true,
  sheet: true,
  place: true,
  who: true,
  deviations: true,
  state: true,
};
const isSort = (text: string | null): text is Sort => text !== null && Object.hasOwn(sorts, text);

/** What a search such as "?car=7&page=2" asks for. An order or a page that is none is the usual one; the predictor judges the filters. */
export function askOf(search: string): LogAsk {
  const given = new URLSearchParams(search);
  const by = Object.fromEntries(filters.map((name) => [name, (given.get(name) ?? "").trim()])) as LogAsk["by"];
  const sort = given.get("sort");
  const page = Number(given.get("page"));
  return {
    by,
    sort: isSort(sort) ? sort : "finished",
    order: given.get("order") === "up" ? "up" : "down",
    page: Number.isSafeInteger(page) && page > 0 ? page : 1,
  };
}

/** The other way round; what is usual is left out. */
export function addressOf({ by, sort, order, page }: LogAsk): string {
  const said = new URLSearchParams();
  for (const name of filters) if (by[name] !== "") said.set(name, by[name]);
  if (sort !== "finished") said.set("sort", sort);
  if (order !== "down") said.set("order", order);
  if (page !== 1) said.set("page", String(page));
  return said.size === 0 ? "/log" : `/log?${said}`;
}

/** Another filter begins on the first page again. A place is one of its shop. */
export function withFilter(ask: LogAsk, name: Filter, value: string): LogAsk {
  const place = name === "shop" ? { place: "" } : {};
  return { ...ask, by: { ...ask.by, ...place, [name]: value }, page: 1 };
}

/** By the column that counts already the other way round; by another one from its start, the newest and the most deviations first. */
export function sortedBy(ask: LogAsk, sort: Sort): LogAsk {
  const first = sort === "finished" || sort === "deviations" ? "down" : "up";
  const turned = ask.order === "up" ? "down" : "up";
  return { ...ask, sort, order: ask.sort === sort ? turned : first, page: 1 };
}

/** The same as a query for the predictor, without the page. A day that is none is left out. */
export function queryOf({ by, sort, order }: LogAsk, clock: Pick<ShopClock, "offsetMs">): URLSearchParams {
  const asked = new URLSearchParams({ sort, order });
  for (const name of filters) {
    const value = by[name];
    if (value === "") continue;
    if (name !== "from" && name !== "to") asked.set(name, value);
    else {
      const ms = dayStartMs(value, name === "to" ? 1 : 0, clock);
      if (ms !== null) asked.set(name, new Date(ms).toISOString());
    }
  }
  return asked;
}

/** When a day such as "2026-03-02", or the one so many days later, begins in the shop, UTC ms; null for what is no day. */
function dayStartMs(day: string, later: number, clock: Pick<ShopClock, "offsetMs">): number | null {
  const [, year, month, date] = /^(\d{4})-(\d{2})-(\d{2})$/.exec(day) ?? [];
  if (year === undefined) return null;
  const utcMs = Date.UTC(Number(year), Number(month) - 1, Number(date) + later);
  // Where the clocks change on that day, by what holds at its midnight.
  return utcMs - clock.offsetMs(utcMs - clock.offsetMs(utcMs));
}
