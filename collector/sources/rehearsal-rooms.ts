/**
 * The rooms of an invented body shop on an everlasting autumn day: simple physics in closed form, so that the air at any
 * instant follows from the instant alone. Every figure here is assumed; none was measured anywhere.
 */
import { DateTime } from "luxon";
import type { Quantity } from "../readings.ts";
import type { RehearsalSettings } from "../settings.ts";
import { drift, noiseAt, seedOf } from "./rehearsal-noise.ts";

interface Air {
  airC: number;
  /** Relative humidity, percent. */
  humidity: number;
}

export interface InventedRoom {
  /** What its sensor reads at an instant (UTC milliseconds), rounded as a sensor does. */
  read: (atMs: number) => [Quantity, number][];
}

export interface RoomOptions {
  room: RehearsalSettings["room"];
  /** Rooms of the same seed share their weather; each sensor has its own noise. */
  sensor: string;
  seed: number;
  /** IANA zone: the sun, the heating and the people keep its hours. */
  zone: string;
}

const hourS = 3600;

export function inventedRoom(options: RoomOptions): InventedRoom {
  const weather = weatherOf(options);
  const own = seedOf(options.sensor, options.seed);
  switch (options.room) {
    case "yard":
      return sensorIn(weather, own, {});
    case "mixing":
      return sensorIn(steadyRoom(weather, own, { airC: 20, swingC: 0.2, gainPa: 120 }), own, {});
    case "prep":
      return sensorIn(steadyRoom(weather, own, { airC: 20, swingC: 0.6, gainPa: 260 }), own, { panelLagS: 900 });
    case "workshop":
      return sensorIn(heatedByDay(weather, options), own, { panelLagS: 1200 });
    case "booth":
      return sensorIn(boothBesideYard(own), own, { panelLagS: 600, airSpeed: 0.3 });
  }
}

/**
 * Saturation vapour pressure over water in pascal, from °C: Magnus with the constants of the WMO guide
 * (WMO-No. 8, 2008, Annex 4.B), good to 0.4 % between 0 and 60 °C.
 */
function saturationPa(airC: number): number {
  return 611.2 * Math.exp((17.62 * airC) / (243.12 + airC));
}

function vapourPa({ airC, humidity }: Air): number {
  return (humidity / 100) * saturationPa(airC);
}

function airWith(airC: number, pa: number): Air {
  return { airC, humidity: Math.min(100, (100 * pa) / saturationPa(airC)) };
}

/** Outdoors: 4 to 12 °C and 75 to 95 %, coldest and dampest before dawn, with slow changes of the weather. */
function weatherOf({ seed, zone }: RoomOptions): (atS: number) => Air {
  const hourOf = sunHour(zone);
  const [front, gust, rain] = [seedOf("front", seed), seedOf("gust", seed), seedOf("rain", seed)];
  return (atS) => {
    const afternoon = Math.cos((2 * Math.PI * (hourOf(atS) - 15)) / 24);
    return {
      airC: 8 + 2.4 * afternoon + drift(front, atS, 17 * hourS) + 0.4 * drift(gust, atS, hourS),
      humidity: 85 - 5.5 * afternoon + 2.5 * drift(rain, atS, 11 * hourS),
    };
  };
}

/** Hour of the day by the zone's winter time: the sun knows no daylight saving. */
function sunHour(zone: string): (atS: number) => number {
  const offsetS = DateTime.fromObject({ year: 2026, month: 1, day: 1 }, { zone }).offset * 60;
  return (atS) => ((((atS + offsetS) / hourS) % 24) + 24) % 24;
}

/** A room kept at one temperature; outdoor air warmed up, and some moisture from people and work. */
function steadyRoom(
  weather: (atS: number) => Air,
  own: number,
  { airC, swingC, gainPa }: { airC: number; swingC: number; gainPa: number },
): (atS: number) => Air {
  return (atS) => airWith(airC + swingC * drift(own, atS, 1500), vapourPa(weather(atS)) + gainPa);
}

/**
 * The workshop: heated to 19.5 °C from 6 to 18 o'clock, then cooling towards 5 K above outdoors with a time constant of
 * five hours; wet floors make it damp in the afternoon.
 */
function heatedByDay(weather: (atS: number) => Air, { zone }: RoomOptions): (atS: number) => Air {
  const setC = 19.5;
  const coolingS = 5 * hourS;
  const warmingS = 0.8 * hourS;
  const hourOf = sunHour(zone);
  const heatingAt = heatingHours(zone);
  const unheatedC = (atS: number, offAtS: number) => {
    const restC = weather(atS).airC + 5;
    return restC + (setC - restC) * Math.exp(-(atS - offAtS) / coolingS);
  };
  return (atS) => {
    const { lastOffS, onS } = heatingAt(atS);
    const coldC = unheatedC(Math.min(atS, onS), lastOffS);
    const airC = atS < onS ? coldC : setC - (setC - coldC) * Math.exp(-(atS - onS) / warmingS);
    const afternoon = Math.exp(-(((hourOf(atS) - 15) / 2.2) ** 2));
    return airWith(airC, vapourPa(weather(atS)) + 120 + 480 * afternoon);
  };
}

interface Heating {
  /** When the heating went off before it last went, or next goes, on. */
  lastOffS: number;
  onS: number;
  /** When it next goes off after that. */
  nextOffS: number;
}

/** The heating's hours by the wall clock of the zone, right through changes of daylight saving. Keeps the last answer. */
function heatingHours(zone: string): (atS: number) => Heating {
  let last: Heating = { lastOffS: 0, onS: 0, nextOffS: 0 };
  return (atS) => {
    if (atS >= last.lastOffS && atS < last.nextOffS) return last;
    const now = DateTime.fromSeconds(atS, { zone });
    const off = now.set({ hour: 18, minute: 0, second: 0, millisecond: 0 });
    const nextOff = off.toSeconds() > atS ? off : off.plus({ days: 1 });
    last = {
      lastOffS: nextOff.minus({ days: 1 }).toSeconds(),
      onS: nextOff.set({ hour: 6 }).toSeconds(),
      nextOffS: nextOff.toSeconds(),
    };
    return last;
  };
}

/**
 * The booth: its air supply holds 21.5 °C and 52 to 56 % day and night. Its door to the yard's rinsing place opens for a minute and a
 * half about every six minutes; mist and steam come in, take the humidity above 75 % and are gone two minutes later.
 */
function boothBesideYard(own: number): (atS: number) => Air {
  return (atS) => {
    const supplyC = 21.5 + 0.25 * drift(own, atS, 1200);
    const supplyHumidity = 54 + 1.5 * drift(own + 1, atS, 3 * hourS);
    const wet = doorMist(own, atS);
    return airWith(supplyC - 2 * wet, vapourPa({ airC: supplyC, humidity: supplyHumidity }) + 500 * wet);
  };
}

const doorEveryS = 360;
const doorOpenS = 90;

/** How much of what can come in through the door has: 0 to about 1. Two first-order responses, in and out. */
function doorMist(own: number, atS: number): number {
  const turn = Math.floor(atS / doorEveryS);
  let mist = 0;
  for (const opening of [turn - 1, turn]) {
    const sinceS = atS - (opening * doorEveryS + 40 + 40 * noiseAt(own + 2, opening));
    if (sinceS <= 0) continue;
    const strength = 1 + 0.03 * noiseAt(own + 3, opening);
    const filled = 1 - Math.exp(-Math.min(sinceS, doorOpenS) / 20);
    mist += strength * filled * Math.exp(-Math.max(0, sinceS - doorOpenS) / 40);
  }
  return mist;
}

interface Fittings {
  /** A sensor on a panel that follows the air with this time constant. */
  panelLagS?: number;
  /** Mean air speed, m/s. */
  airSpeed?: number;
}

/** Puts sensors into the air: resolution, a little noise, and those quantities that the room is fitted for. */
function sensorIn(air: (atS: number) => Air, own: number, { panelLagS, airSpeed }: Fittings): InventedRoom {
  return {
    read: (atMs) => {
      const atS = atMs / 1000;
      const flicker = (channel: number) => noiseAt(own + channel, Math.floor(atS));
      const { airC, humidity } = air(atS);
      const values: [Quantity, number][] = [
        ["air-temperature", rounded(airC + 0.03 * flicker(10))],
        ["air-humidity", rounded(Math.min(100, humidity + 0.15 * flicker(11)))],
      ];
      if (panelLagS !== undefined) {
        values.push(["panel-temperature", rounded(laggedC(air, atS, panelLagS) + 0.03 * flicker(12))]);
      }
      if (airSpeed !== undefined) values.push(["air-speed", rounded(airSpeed + 0.015 * flicker(13))]);
      return values;
    },
  };
}

/** First-order lag behind the air: the weighted mean of four time constants of past, in steps of a twentieth of one. */
function laggedC(air: (atS: number) => Air, atS: number, lagS: number): number {
  const steps = 80;
  const stepS = lagS / 20;
  let sum = 0;
  let weights = 0;
  for (let n = 0; n < steps; n += 1) {
    const agoS = (n + 0.5) * stepS;
    const weight = Math.exp(-agoS / lagS);
    sum += weight * air(atS - agoS).airC;
    weights += weight;
  }
  return sum / weights;
}

function rounded(value: number): number {
  return Math.round(value * 100) / 100;
}
