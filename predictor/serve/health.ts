/** /api/health: whether readings flow, and what to look at when they do not. */
import { z } from "zod";
import { type ClockState, collectorStateSchema } from "../../collector/readings.ts";
import type { Follow } from "../follow/follow.ts";
import { seriesOf } from "../follow/place-history.ts";
import { isCurrent } from "../follow/place-now.ts";
import type { OnwardState } from "../onward/onward.ts";
import type { IntakeState } from "../readings/intake.ts";
import type { BrokerLink } from "../readings/link.ts";
import type { Series } from "../readings/store.ts";
import type { Waiting } from "../readings/waiting-store.ts";
import type { Records } from "../records/records.ts";
import type { ShopFile } from "../shop-file.ts";
import type { NotifyState } from "../warnings/notify.ts";

const refusedSchema = z.object({ at: z.string(), collector: z.string(), reason: z.string(), payload: z.string() });

export const healthSchema = z.object({
  /** `ok`, or `attention` when the broker is away, the store refuses, or a sensor is silent. */
  state: z.enum(["ok", "attention"]),
  versions: z.object({ coatclock: z.string(), node: z.string() }),
  startedAt: z.string(),
  clock: z.object({ at: z.string(), state: z.string() }),
  store: z.object({
    kind: z.string(),
    fault: z.string().nullable(),
    damage: z.string().nullable(),
    /** Readings here on their way to a store on another machine; null where the store is here. */
    waiting: z
      .object({ readings: z.number(), awaySince: z.string().nullable(), fault: z.string().nullable() })
      .nullable(),
  }),
  broker: z.object({
    url: z.string(),
    connected: z.boolean(),
    /** What the embedded broker refused since the start, by kind; null for another broker. */
    refusals: z.record(z.string(), z.number()).nullable(),
  }),
  intake: z.object({
    packsStored: z.number(),
    packsRefused: z.number(),
    readingsStored: z.number(),
    readingsKnown: z.number(),
    readingsUnusable: z.number(),
    packsUndated: z.number(),
    packsWaiting: z.number(),
    packsShed: z.number(),
    refused: z.array(refusedSchema),
  }),
  collectors: z.array(collectorStateSchema.extend({ name: z.string() })),
  sensors: z.array(
    z.object({
      place: z.string(),
      quantity: z.string(),
      sensor: z.string(),
      value: z.number().nullable(),
      at: z.string().nullable(),
      cadenceSeconds: z.number().nullable(),
      current: z.boolean(),
    }),
  ),
  streams: z.number(),
  records: z.object({ entries: z.number(), head: z.string().nullable(), fault: z.string().nullable() }),
  /** How far the head office has what this shop holds; null where the shop file names none. */
  headOffice: z
    .object({
      connected: z.boolean(),
      readingsWaiting: z.number(),
      /** Since the start: because too many waited, and because the head office refused them for good. */
      readingsDropped: z.number(),
      packsRefused: z.number(),
      /** Entries of the log that it does not hold yet; null while it has not said what it holds. */
      entriesBehind: z.number().nullable(),
      /** What keeps the log from being held there, in words. */
      fault: z.string().nullable(),
    })
    .nullable(),
  /** Webhook and mails, where the shop file names them. */
  notify: z.array(
    z.object({
      channel: z.enum(["webhook", "email"]),
      sent: z.number(),
      lost: z.number(),
      fault: z.string().nullable(),
    }),
  ),
});

export interface HealthParts {
  records: Pick<Records, "head">;
  recordsFault: () => string | null;
  notifyState: () => NotifyState[];
  onwardState: () => OnwardState | null;
  shopFile: ShopFile;
  follow: Follow;
  version: string;
  startedAtMs: number;
  now: () => number;
  intakeState: () => IntakeState;
  /** What was done about a damaged file at the start. */
  storeDamage: string | null;
  /** Null where the store is on this machine. */
  storeWaiting: () => Waiting | null;
  link: BrokerLink;
  brokerUrl: string;
  brokerRefusals: () => Record<string, number> | null;
  clockState: () => ClockState;
  streams: () => number;
}

export function healthOf(parts: HealthParts): z.input<typeof healthSchema> {
  const nowMs = parts.now();
  const { storeFault, refused, ...intake } = parts.intakeState();
  const sensors = Object.entries(parts.shopFile.places).flatMap(([place, settings]) =>
    seriesOf(settings).map((series) => sensorHealth(parts.follow, place, series, nowMs)),
  );
  const connected = parts.link.connected();
  const waiting = parts.storeWaiting();
  const isStoreWell =
    storeFault === null && parts.storeDamage === null && !waiting?.fault && parts.recordsFault() === null;
  const head = parts.records.head();
  return {
    state: connected && isStoreWell && sensors.every((sensor) => sensor.current) ? "ok" : "attention",
    versions: { coatclock: parts.version, node: process.versions.node },
    startedAt: new Date(parts.startedAtMs).toISOString(),
    clock: { at: new Date(nowMs).toISOString(), state: parts.clockState() },
    store: {
      kind: parts.shopFile.store.kind,
      fault: storeFault,
      damage: parts.storeDamage,
      waiting: waiting && waitingHealth(waiting),
    },
    broker: { url: parts.brokerUrl, connected, refusals: parts.brokerRefusals() },
    intake: { ...intake, refused: refused.map(({ sender, ...pack }) => ({ collector: sender, ...pack })) },
    headOffice: parts.onwardState(),
    collectors: [...parts.link.collectors()].map(([name, state]) => ({ name, ...state })),
    sensors,
    streams: parts.streams(),
    records: { entries: head?.seq ?? 0, head: head?.hash ?? null, fault: parts.recordsFault() },
    notify: parts.notifyState(),
  };
}

function waitingHealth({ count, awaySinceMs, fault }: Waiting) {
  return { readings: count, awaySince: awaySinceMs === null ? null : new Date(awaySinceMs).toISOString(), fault };
}

function sensorHealth(follow: Follow, place: string, series: Series, nowMs: number) {
  const current = follow.current(place, series.quantity);
  return {
    place,
    quantity: series.quantity,
    sensor: `${series.collector}/${series.sensor}`,
    value: current?.value ?? null,
    at: current === undefined ? null : new Date(current.atMs).toISOString(),
    cadenceSeconds: current?.cadenceMs == null ? null : current.cadenceMs / 1000,
    current: current !== undefined && isCurrent(current, nowMs),
  };
}
