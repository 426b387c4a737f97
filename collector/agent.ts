/** A collector at work: its sources' readings become packs, wait in the outbox and leave it on their receipt. */
import { setTimeout as delay } from "node:timers/promises";
import type { Logger } from "pino";
import type { Clock } from "./clock.ts";
import { Connection } from "./connection.ts";
import { Dispatcher } from "./dispatch.ts";
import type { InstrumentCare } from "./instruments.ts";
import { inWords, type Outbox, type Urgency, type WaitingPack } from "./outbox/outbox.ts";
import type { CollectorState, Reading } from "./readings.ts";
import { isBelieved, jsonIn, packsOf, receiptSchema, timeSignalSchema, topicsOf } from "./readings.ts";
import type { BrokerAddress } from "./settings.ts";
import type { Measurement, Outlet, Source } from "./sources/source.ts";

export interface AgentOptions {
  shop: string;
  collector: string;
  /** Names of every sensor its sources can name. */
  sensors: string[];
  sources: Source[];
  broker: BrokerAddress;
  /** The program's, told in the collector's state. */
  version: string;
  clock: Clock;
  /** Corrects and judges what the sources measure. */
  care: InstrumentCare;
  /** Closed at the agent's stop. */
  outbox: Outbox;
  logger: Logger;
  /** How long a sent pack may go without a receipt before it is sent again. */
  receiptTimeoutMs?: number;
}

/** Sources that can wait do so while more packs than this are in the outbox. */
const roomyPacks = 256;
const tickMs = 1_000;
/** The state is published again at least this often. */
const refreshMs = 60_000;
/** At a stop, how long receipts are still awaited. */
const lastReceiptsMs = 600;
/** Below it SenML takes a time for relative to now (RFC 8428 §4.5.3): 1978, so a clock that was never set. */
const firstAbsoluteMs = 2 ** 28 * 1000;

export class Agent {
  readonly #options: AgentOptions;
  readonly #topics: ReturnType<typeof topicsOf>;
  readonly #outbox: Outbox;
  readonly #dispatcher: Dispatcher;
  readonly #connection: Connection;
  readonly #logger: Logger;
  #ticking: NodeJS.Timeout | undefined;
  #awaitingRoom: (() => void)[] = [];
  #stopping = false;
  #onlineSinceMs = Date.now();
  #refusedPacks = 0;
  #clockWasUnset = false;
  #waitsForClock = false;
  #isDating = false;
  /** Packs are sent again for want of receipts. */
  #isUnanswered = false;
  #lastPublishError = "";
  /** What of the state was last published, and when on the monotonic clock. */
  #published = { essence: "", atMs: Number.NEGATIVE_INFINITY };

  constructor(options: AgentOptions) {
    this.#options = options;
    this.#logger = options.logger;
    this.#topics = topicsOf(options.shop);
    this.#outbox = options.outbox;
    this.#dispatcher = new Dispatcher({
      outbox: this.#outbox,
      send: (pack) => this.#send(pack),
      receiptTimeoutMs: options.receiptTimeoutMs ?? 10_000,
      nowMs: () => performance.now(),
    });
    this.#connection = new Connection({
      broker: options.broker,
      clientId: `coatclock-${options.shop}-${options.collector}`,
      subscriptions: [this.#topics.receipts(options.collector), this.#topics.time],
      lastWill: () => ({
        topic: this.#topics.collectors(options.collector),
        payload: JSON.stringify(this.state(false)),
      }),
      opened: () => this.#opened(),
      lost: () => this.#dispatcher.lost(),
      message: (topic, payload) => {
        if (topic === this.#topics.time) this.#takeTime(payload);
        else this.#takeReceipt(payload);
      },
      logger: options.logger,
    });
  }

  start(): void {
    this.#connection.start();
    const outlet: Outlet = {
      measured: (measurements) => this.#measured(measurements),
      put: (readings, urgency) => this.#put(readings, urgency),
      room: () => this.#room(),
    };
    for (const source of this.#options.sources) source.start(outlet);
    this.#ticking = setInterval(() => this.#tick(), tickMs);
  }

  /** Stops the sources, waits a moment for the last receipts, says that the collector is offline; what waits then stays in the outbox. Within two seconds. */
  async stop(): Promise<void> {
    this.#stopping = true;
    clearInterval(this.#ticking);
    this.#admitWaiting();
    await Promise.all(this.#options.sources.map((source) => source.stop()));
    const patience = new AbortController();
    const deadlineMs = performance.now() + lastReceiptsMs;
    while (this.#connection.isOpen && this.#outbox.packs > 0 && performance.now() < deadlineMs) await delay(20);
    if (this.#outbox.packs > 0) {
      this.#logger.warn({ packs: this.#outbox.packs }, "stopped with packs that wait for their receipt; they are kept");
    }
    this.#onlineSinceMs = Date.now();
    await Promise.race([
      this.#publishState(false).then(() => patience.abort()),
      delay(200, undefined, { signal: patience.signal }).catch(() => undefined),
    ]);
    await this.#connection.stop();
    this.#outbox.close();
  }

  /** What is retained for others to read. `since` of a last will is when the connection began: its loss is not yet known. */
  state(online: boolean): CollectorState {
    const { version, sensors, clock, sources } = this.#options;
    return {
      online,
      since: new Date(this.#onlineSinceMs).toISOString(),
      version,
      sensors,
      outboxPacks: this.#outbox.packs,
      undatedPacks: this.#outbox.undatedPacks,
      droppedPacks: this.#outbox.droppedPacks + this.#outbox.undatablePacks,
      outboxFault: inWords(this.#outbox.fault, this.#outbox.damage),
      refusedPacks: this.#refusedPacks,
      clock: clock.state(),
      sources: sources.map((source) => ({ source: source.name, ...source.state() })),
    };
  }

  /** What was read in this moment: kept by the monotonic clock alone while no clock can be believed. */
  #measured(measurements: readonly Measurement[]): void {
    const { care, clock } = this.#options;
    const momentMs = clock.monotonicMs();
    const instantMs = clock.instantOf(momentMs);
    const numbers = measurements.filter(({ value }) => Number.isFinite(value));
    const readings = numbers.map((measurement) => ({
      ...care.take(measurement, momentMs),
      atMs: instantMs ?? momentMs,
    }));
    if (instantMs === null) this.#hold(readings);
    else this.#add(readings, "live");
    this.#waitsForClock = instantMs === null;
  }

  /** Their instants are moments of the monotonic clock. */
  #hold(readings: readonly Reading[]): void {
    const { clock, collector } = this.#options;
    for (const pack of packsOf(collector, readings)) this.#outbox.hold(pack);
    if (this.#waitsForClock) return;
    this.#logger.error({ clock: clock.state() }, "this machine's clock cannot be believed: readings wait for it");
  }

  #put(readings: readonly Reading[], urgency: Urgency): void {
    this.#add(this.#withTime(readings), urgency);
  }

  #add(readings: readonly Reading[], urgency: Urgency): void {
    for (const pack of packsOf(this.#options.collector, readings)) this.#outbox.add(JSON.stringify(pack), urgency);
    this.#dispatcher.pump();
  }

  /** Leaves out readings stamped by a clock that was never set: their time on the wire would mean something else. */
  #withTime(readings: readonly Reading[]): Reading[] {
    const timed = readings.filter((reading) => reading.atMs >= firstAbsoluteMs);
    const isUnset = timed.length < readings.length;
    if (isUnset && !this.#clockWasUnset) this.#logger.error("this machine's clock is not set: readings are being lost");
    this.#clockWasUnset = isUnset;
    return timed;
  }

  async #room(): Promise<void> {
    if (this.#outbox.packs < roomyPacks || this.#stopping) return;
    await new Promise<void>((resolve) => this.#awaitingRoom.push(resolve));
  }

  #admitWaiting(): void {
    const waiting = this.#awaitingRoom;
    this.#awaitingRoom = [];
    for (const resolve of waiting) resolve();
  }

  #send(pack: WaitingPack): void {
    const { collector, broker } = this.#options;
    const properties = {
      responseTopic: this.#topics.receipts(collector),
      correlationData: Buffer.from(pack.digest),
      contentType: "application/senml+json",
    };
    this.#connection
      .publish(this.#topics.readings(collector), pack.payload, {
        qos: 1,
        ...(broker.protocolVersion === 5 ? { properties } : {}),
      })
      .catch((error: unknown) => this.#tellPublishError(error));
  }

  #takeTime(payload: Buffer): void {
    const time = timeSignalSchema.safeParse(jsonIn(payload));
    if (time.success) this.#options.clock.heard(time.data);
  }

  /** Sends what waited for the clock, once its instants are known. */
  #dateHeld(): void {
    const { clock } = this.#options;
    const isDating = this.#outbox.undatedPacks > 0 && isBelieved(clock.state());
    if (isDating && !this.#isDating) {
      this.#logger.info({ packs: this.#outbox.undatedPacks }, "the clock is believed now: what waited for it is sent");
    }
    this.#isDating = isDating;
    if (!isDating) return;
    this.#outbox.date((monotonicS) => (clock.instantOf(monotonicS * 1000) ?? Number.NaN) / 1000);
    this.#dispatcher.pump();
  }

  #takeReceipt(payload: Buffer): void {
    const receipt = receiptSchema.safeParse(jsonIn(payload));
    if (!receipt.success) {
      this.#logger.warn({ payload: payload.toString("utf8", 0, 200) }, "ignored a message that is no receipt");
      return;
    }
    const { pack, status, reason } = receipt.data;
    this.#isUnanswered = false;
    const wasWaiting = this.#dispatcher.receipted(pack);
    if (wasWaiting && status === "refused") {
      this.#refusedPacks += 1;
      this.#logger.error({ pack, reason }, "a pack was refused for good; its readings are lost");
    }
    if (this.#outbox.packs < roomyPacks) this.#admitWaiting();
  }

  #opened(): void {
    this.#onlineSinceMs = Date.now();
    this.#published = { essence: "", atMs: Number.NEGATIVE_INFINITY };
    this.#publishIfNew();
    this.#dispatcher.opened();
  }

  #tick(): void {
    this.#dateHeld();
    const resent = this.#dispatcher.resendOverdue();
    if (resent > 0 && !this.#isUnanswered) this.#logger.warn({ resent }, "no receipts come: is a predictor running?");
    this.#isUnanswered ||= resent > 0;
    if (this.#connection.isOpen) this.#publishIfNew();
  }

  /** Publishes the state when something a person would act on has changed, or a minute has passed. */
  #publishIfNew(): void {
    const { clock, sources, undatedPacks, droppedPacks, refusedPacks, outboxFault } = this.state(true);
    const kinds = sources.map(({ state, counters }) => [state, Object.keys(counters)]);
    const essence = JSON.stringify([
      clock,
      kinds,
      undatedPacks !== 0,
      droppedPacks !== 0,
      refusedPacks !== 0,
      outboxFault,
    ]);
    const atMs = performance.now();
    if (essence === this.#published.essence && atMs - this.#published.atMs < refreshMs) return;
    this.#published = { essence, atMs };
    void this.#publishState(true);
  }

  async #publishState(online: boolean): Promise<void> {
    try {
      const payload = JSON.stringify(this.state(online));
      await this.#connection.publish(this.#topics.collectors(this.#options.collector), payload, {
        qos: 1,
        retain: true,
      });
    } catch (error) {
      this.#tellPublishError(error);
    }
  }

  /** Packs are sent again, so the same error comes many times: it is logged when it is another than the last. */
  #tellPublishError(error: unknown): void {
    const text = String(error);
    if (text !== this.#lastPublishError) this.#logger.warn({ error: text }, "the broker did not take a message");
    this.#lastPublishError = text;
  }
}
