/** The usual day of a place: the mean temperature by half hour of the local day, with what is particular to a weekday. */
import { halfHoursADay } from "./half-hours.ts";

const slots = halfHoursADay;
/** A half hour of the profile is the mean of itself and its neighbours with these weights (assumed). */
const smoothing = [1, 2, 3, 2, 1] as const;

/** The known past, one entry a half hour. */
export interface Calendar {
  airC: Float64Array;
  /** Number of the local day within the window, from 0. */
  day: Uint16Array;
  slot: Uint8Array;
  /** ISO weekday of each day of the window. */
  weekdays: readonly number[];
  /** 1 for days that are heated by the plan; days of different groups share no profile. */
  groupOf: (weekday: number) => 0 | 1;
}

export interface Profile {
  /** By ISO weekday (index 0 unused) and half hour of the day, from all days. */
  byWeekday: readonly Float64Array[];
  /** What was usual for each day of the window by all the other days: a day never judges itself. */
  leavingOut: readonly Float64Array[];
}

/** Learns the profile; at least one value of `calendar.airC` must be known. */
export function learnProfile(calendar: Calendar): Profile {
  const { airC, day, slot, weekdays, groupOf } = calendar;
  const days = weekdays.map((weekday) => ({ weekday, group: groupOf(weekday), table: new SlotSums() }));
  const groups = [new SlotSums(), new SlotSums()] as const;
  const all = new SlotSums();
  for (let i = 0; i < airC.length; i++) days[day[i] as number]?.table.add(slot[i] as number, airC[i] as number);
  for (const { group, table } of days) {
    groups[group].addAll(table, 1);
    all.addAll(table, 1);
  }
  const usualOf = (group: 0 | 1) => smooth(meansOf(groups[group], all));
  const daily = [usualOf(0), usualOf(1)] as const;
  const leavingOut = days.map(({ group, table }) => {
    const usual = smooth(meansOf(groups[group].without(table), all.without(table)));
    return usual.some(Number.isNaN) ? daily[group] : usual;
  });

  const own = days.map(({ table }, d) => table.anomalies(leavingOut[d] as Float64Array));
  const weekly = Array.from({ length: 8 }, () => new SlotSums());
  for (const [d, { weekday }] of days.entries()) weekly[weekday]?.addAll(own[d] as SlotSums, 1);
  const weeklyLeavingOut = days.map(({ weekday }, d) =>
    smooth((weekly[weekday] as SlotSums).without(own[d] as SlotSums).shrunkMeans()),
  );
  const share = weeklyShare(own, weeklyLeavingOut);
  return {
    byWeekday: weekly.map((sums, weekday) => plus(daily[groupOf(weekday)], smooth(sums.shrunkMeans()), share)),
    leavingOut: leavingOut.map((usual, d) => plus(usual, weeklyLeavingOut[d] as Float64Array, share)),
  };
}

/** How much of what other days of the same weekday had beyond the daily profile a day has too: least squares, 0…1. */
function weeklyShare(own: readonly SlotSums[], others: readonly Float64Array[]): number {
  let products = 0;
  let squares = 0;
  for (const [d, table] of own.entries()) {
    for (let s = 0; s < slots; s++) {
      if (table.counts[s] === 0) continue;
      const expected = (others[d] as Float64Array)[s] as number;
      products += (table.mean(s) as number) * expected;
      squares += expected * expected;
    }
  }
  return squares > 0 ? Math.min(1, Math.max(0, products / squares)) : 0;
}

/** Sums and counts by half hour of the day. */
class SlotSums {
  readonly sums = new Float64Array(slots);
  readonly counts = new Float64Array(slots);

  add(slot: number, value: number): void {
    if (Number.isNaN(value)) return;
    this.sums[slot] = (this.sums[slot] as number) + value;
    this.counts[slot] = (this.counts[slot] as number) + 1;
  }

  addAll(other: SlotSums, sign: 1 | -1): void {
    for (let s = 0; s < slots; s++) {
      this.sums[s] = (this.sums[s] as number) + sign * (other.sums[s] as number);
      this.counts[s] = (this.counts[s] as number) + sign * (other.counts[s] as number);
    }
  }

  without(other: SlotSums): SlotSums {
    const rest = new SlotSums();
    rest.addAll(this, 1);
    rest.addAll(other, -1);
    return rest;
  }

  /** NaN where nothing is known. */
  mean(slot: number): number {
    const count = this.counts[slot] as number;
    return count > 0 ? (this.sums[slot] as number) / count : Number.NaN;
  }

  /** Means drawn towards zero as if by one more value of zero. */
  shrunkMeans(): Float64Array {
    return this.sums.map((sum, s) => sum / ((this.counts[s] as number) + 1));
  }

  /** The same table with one value a half hour: its mean less what is usual. */
  anomalies(usual: Float64Array): SlotSums {
    const result = new SlotSums();
    for (let s = 0; s < slots; s++) result.add(s, this.mean(s) - (usual[s] as number));
    return result;
  }
}

/** Means of a group, of all days where the group knows nothing, and NaN where no day does. */
function meansOf(group: SlotSums, all: SlotSums): Float64Array {
  const means = new Float64Array(slots);
  for (let s = 0; s < slots; s++) means[s] = (group.counts[s] as number) > 0 ? group.mean(s) : all.mean(s);
  return means;
}

/** Running mean around the day; half hours without a known neighbour get the mean of the day. */
function smooth(means: Float64Array): Float64Array {
  const known = means.filter((value) => !Number.isNaN(value));
  const overall = known.reduce((sum, value) => sum + value, 0) / known.length;
  const reach = (smoothing.length - 1) / 2;
  return means.map((_, s) => {
    let sum = 0;
    let weights = 0;
    for (const [k, weight] of smoothing.entries()) {
      const value = means[(s + k - reach + slots) % slots] as number;
      if (Number.isNaN(value)) continue;
      sum += weight * value;
      weights += weight;
    }
    return weights > 0 ? sum / weights : overall;
  });
}

function plus(values: Float64Array, more: Float64Array, share: number): Float64Array {
  return values.map((value, s) => value + share * (more[s] as number));
}
