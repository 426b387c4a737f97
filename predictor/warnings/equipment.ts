/** What can be wrong with sensors, collectors and clocks, in what words, and what to do about it: pure. */
import { type ClockState, isBelieved, type Mark, type Quantity, quantities } from "../../collector/readings.ts";
import { type Text, type TextKey, text, type Value } from "../../words/text.ts";
import { type Condition, ofPlace } from "./condition.ts";

export interface SilentSensor {
  quantity: Quantity;
  sensor: string;
  /** Null when it has not been heard since the start. */
  lastAtMs: number | null;
}

/** Its newest reading is marked bad. */
export interface BadSensor {
  quantity: Quantity;
  sensor: string;
  value: number;
  why: Mark["why"];
}

export interface DifferingSensors {
  quantity: Quantity;
  /** The one that is reckoned with, then the one it is compared with. */
  sensors: readonly [string, string];
  /** The first minus the second, as a median over so many hours. */
  byMedian: number;
  overHours: number;
}

export interface DueCalibration {
  sensor: string;
  quantity: Quantity;
  /** ISO date. */
  due: string;
  isOver: boolean;
}

/** This machine, or a collector that tells of the place. */
export interface MachineState {
  /** A collector's name; null for the machine that predicts. */
  collector: string | null;
  clock: ClockState;
  undatedPacks: number;
  outboxFault: string | null;
}

/** The equipment that tells of a place. */
export interface Equipment {
  silent: readonly SilentSensor[];
  bad: readonly BadSensor[];
  differing: readonly DifferingSensors[];
  calibrations: readonly DueCalibration[];
  machines: readonly MachineState[];
  /** What keeps this machine from storing readings. */
  storeFault: string | null;
  /** Readings that belong to a store on another machine wait on this one. */
  storeAway: boolean;
  /** What is wrong with the records: not written, or not what they were. */
  recordsFault: string | null;
}

export function equipmentConditions(equipment: Equipment): Condition[] {
  return [
    ...equipment.silent.map(silence),
    ...equipment.bad.map(badSensor),
    ...equipment.differing.map(disagreement),
    ...equipment.calibrations.map(calibrationDue),
    ...equipment.machines.flatMap(machineTrouble),
    ...(equipment.storeFault === null ? [] : [storeTrouble(equipment.storeFault)]),
    ...(equipment.storeAway ? [storeAway] : []),
    ...(equipment.recordsFault === null ? [] : [recordsTrouble(equipment.recordsFault)]),
  ];
}

/** A sensor or a machine is one, in however many places it tells. */
const ofEquipment = { ...ofPlace, isShared: true };

function silence({ quantity, sensor, lastAtMs }: SilentSensor): Condition {
  const named = { sensor, quantity: quantityText(quantity) };
  return {
    key: `silent-sensor/${sensor}/${quantity}`,
    rule: "silent-sensor",
    urgency: "soon",
    text:
      lastAtMs === null
        ? text("warn.silent-from-start", named)
        : text("warn.silent", { ...named, since: { timeMs: lastAtMs } }),
    consequence: text("warn.silent.else"),
    action: text("warn.silent.do"),
    ...ofEquipment,
  };
}

function badSensor({ quantity, sensor, value, why }: BadSensor): Condition {
  const values = { sensor, quantity: quantityText(quantity), value: measured(quantity, value) };
  return {
    key: `bad-sensor/${sensor}/${quantity}`,
    rule: "bad-sensor",
    urgency: "soon",
    text: text(badKeys[why], values),
    consequence: text("warn.bad.else"),
    action: text("warn.silent.do"),
    ...ofEquipment,
  };
}

/** Kept short: the wall says it in one line. */
const badKeys = {
  "out of range": "warn.bad-range",
  spike: "warn.bad-spike",
  "fast change": "warn.bad-fast",
  stuck: "warn.bad-stuck",
} as const satisfies Record<Mark["why"], TextKey>;

function disagreement({ quantity, sensors, byMedian, overHours }: DifferingSensors): Condition {
  const [first, second] = sensors;
  const values = { quantity: quantityText(quantity), first, second, apart: apart(quantity, Math.abs(byMedian)) };
  return {
    key: `sensors-disagree/${first}/${second}/${quantity}`,
    rule: "sensors-disagree",
    urgency: "today",
    text: text(overHours >= 24 ? "warn.disagree-day" : "warn.disagree-half-hour", values),
    consequence: text("warn.disagree.else"),
    action: text(quantity === "air-humidity" ? "warn.disagree-humidity.do" : "warn.disagree.do"),
    ...ofEquipment,
  };
}

function calibrationDue({ sensor, quantity, due, isOver }: DueCalibration): Condition {
  return {
    // What is done about one that comes says nothing of one that is over.
    key: `calibration-due/${sensor}/${quantity}/${isOver ? "over" : due}`,
    rule: "calibration-due",
    urgency: "today",
    text: text(isOver ? "warn.calibration-over" : "warn.calibration", {
      sensor,
      quantity: quantityText(quantity),
      due,
    }),
    consequence: text("warn.calibration.else"),
    action: text("warn.calibration.do"),
    ...ofEquipment,
  };
}

function machineTrouble({ collector, clock, undatedPacks, outboxFault }: MachineState): Condition[] {
  const found: Condition[] = [];
  if (!isBelieved(clock)) {
    found.push({
      key: `clock/${collector ?? ""}`,
      rule: "clock",
      urgency: "soon",
      text:
        collector === null
          ? text("warn.clock-own")
          : text(undatedPacks > 0 ? "warn.clock-waiting" : "warn.clock-will-wait", { collector }),
      consequence: text("warn.clock.else"),
      action: text("warn.clock.do"),
      ...ofEquipment,
    });
  }
  if (collector !== null && outboxFault !== null) {
    found.push({
      key: `outbox/${collector}`,
      rule: "outbox",
      urgency: "soon",
      text: text("warn.outbox", { collector, fault: outboxFault }),
      consequence: text("warn.outbox.else"),
      action: text("warn.outbox.do"),
      ...ofEquipment,
    });
  }
  return found;
}

function storeTrouble(fault: string): Condition {
  return {
    key: "store",
    rule: "store",
    urgency: "now",
    text: text("warn.store", { fault }),
    consequence: text("warn.store.else"),
    action: text("warn.store.do"),
    ...ofEquipment,
  };
}

const storeAway: Condition = {
  key: "store-away",
  rule: "store-away",
  urgency: "soon",
  text: text("warn.store-away"),
  consequence: text("warn.store-away.else"),
  action: text("warn.store-away.do"),
  ...ofEquipment,
};

function recordsTrouble(fault: string): Condition {
  return {
    key: "records",
    rule: "records",
    urgency: "now",
    text: text("warn.records", { fault }),
    consequence: text("warn.records.else"),
    action: text("warn.records.do"),
    ...ofEquipment,
  };
}

const quantityText = (quantity: Quantity): Text => text(`quantity.${quantity}`);

/** In the quantity's unit, the shop's for temperatures. */
export function measured(quantity: Quantity, value: number): Value {
  return quantities[quantity].unit === "Cel" ? { celsius: value } : otherUnit(quantity, value);
}

function apart(quantity: Quantity, difference: number): Value {
  return quantities[quantity].unit === "Cel" ? { kelvin: difference } : otherUnit(quantity, difference);
}

function otherUnit(quantity: Quantity, value: number): Text {
  if (quantity === "air-humidity") return text("figure.percent-fine", { percent: value });
  return text("figure.unit", { value, unit: quantities[quantity].unit });
}
