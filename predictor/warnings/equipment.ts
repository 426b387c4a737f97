/** What can be wrong with sensors, collectors and clocks, in what words, and what to do about it: pure. */
import { type ClockState, isBelieved, type Mark, type Quantity } from "../../collector/readings.ts";
import type { Words } from "../words.ts";
import type { Condition } from "./condition.ts";

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
}

export function equipmentConditions(equipment: Equipment, words: Words): Condition[] {
  return [
    ...equipment.silent.map((sensor) => silence(sensor, words)),
    ...equipment.bad.map((sensor) => badSensor(sensor, words)),
    ...equipment.differing.map((pair) => disagreement(pair, words)),
    ...equipment.calibrations.map(calibrationDue),
    ...equipment.machines.flatMap(machineTrouble),
    ...(equipment.storeFault === null ? [] : [storeTrouble(equipment.storeFault)]),
  ];
}

function silence(sensor: SilentSensor, words: Words): Condition {
  const since = sensor.lastAtMs === null ? "has sent nothing yet" : `is silent since ${words.time(sensor.lastAtMs)}`;
  return {
    key: `silent-sensor/${sensor.quantity}`,
    rule: "silent-sensor",
    urgency: "soon",
    text: `Sensor ${sensor.sensor} (${plain(sensor.quantity)}) ${since}`,
    action: "Check its supply and cable; until then use the wall thermometer and the sheet.",
    coatId: null,
  };
}

/** Kept short: the wall says it in one line. */
const whyWords: Record<Mark["why"], string> = {
  "out of range": "cannot read",
  spike: "jumped to",
  "fast change": "changes too fast, at",
  stuck: "is stuck at",
};

function badSensor({ quantity, sensor, value, why }: BadSensor, words: Words): Condition {
  return {
    key: `bad-sensor/${quantity}`,
    rule: "bad-sensor",
    urgency: "soon",
    text: `Sensor ${sensor} (${plain(quantity)}) ${whyWords[why]} ${words.measured(quantity, value)}: not used`,
    action: "Check the sensor and its cable; until then use the wall thermometer and the sheet.",
    coatId: null,
  };
}

function disagreement({ quantity, sensors, byMedian, overHours }: DifferingSensors, words: Words): Condition {
  const [first, second] = sensors;
  const action =
    quantity === "air-humidity"
      ? "Compare with a reference: solvent vapour makes humidity sensors drift, mostly for good."
      : "Hold a reference instrument beside both; correct or replace the one that is off.";
  const over = overHours >= 24 ? "over the last day" : "over the last half hour";
  return {
    key: `sensors-disagree/${quantity}`,
    rule: "sensors-disagree",
    urgency: "soon",
    text: `${capital(plain(quantity))}: ${first}, ${second} ${words.apart(quantity, Math.abs(byMedian))} apart ${over}`,
    action,
    coatId: null,
  };
}

function calibrationDue({ sensor, quantity, due, isOver }: DueCalibration): Condition {
  return {
    key: `calibration-due/${sensor}/${quantity}`,
    rule: "calibration-due",
    urgency: "soon",
    text: `Calibration of ${sensor} (${plain(quantity)}) ${isOver ? "was" : "is"} due on ${due}`,
    action: "Compare it with a reference, then enter offset, date and next due date in the shop file.",
    coatId: null,
  };
}

function machineTrouble({ collector, clock, undatedPacks, outboxFault }: MachineState): Condition[] {
  const found: Condition[] = [];
  const whose = collector === null ? "This machine's clock" : `The clock of ${collector}`;
  if (!isBelieved(clock)) {
    found.push({
      key: `clock/${collector ?? ""}`,
      rule: "clock",
      urgency: "soon",
      text:
        collector === null
          ? `${whose} is not certain: nor are the times shown`
          : `${whose} is not certain: ${undatedPacks > 0 ? "its readings wait" : "its readings will wait"} until it is`,
      action: "Check its network and time server; until then go by the wall clock and the sheet.",
      coatId: null,
    });
  }
  if (collector !== null && outboxFault !== null) {
    found.push({
      key: `outbox/${collector}`,
      rule: "outbox",
      urgency: "soon",
      text: `Outbox of ${collector}: ${outboxFault}`,
      action: "See to its disk or card before the power or the network fails: readings may be lost then.",
      coatId: null,
    });
  }
  return found;
}

function storeTrouble(fault: string): Condition {
  return {
    key: "store",
    rule: "store",
    urgency: "now",
    text: `Readings cannot be stored on this machine: ${fault}`,
    action: "Make room on its disk, or see to its card. Readings wait; coats stand still here.",
    coatId: null,
  };
}

function plain(quantity: Quantity): string {
  return quantity.replace("-", " ");
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
