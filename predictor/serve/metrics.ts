/** The figures of /metrics, in the text format of Prometheus. docs/metrics.md lists them. */
import type { Request, Response } from "express";
import { Counter, collectDefaultMetrics, Gauge, Histogram, Registry } from "prom-client";
import type { z } from "zod";
import { clockStates, isBelieved } from "../../collector/readings.ts";
import type { Warning } from "../warnings/warnings.ts";
import type { healthSchema } from "./health.ts";

type Health = z.input<typeof healthSchema>;

/** What is asked of the other parts at each reading of the figures. */
export interface MetricsParts {
  health: () => Health;
  receiptsSent: () => number;
  coatsFollowed: () => number;
  streams: { readonly eventsSent: number; readonly dropped: number };
  warnings: { all(): Warning[]; readonly raised: number };
}

/** One line of a figure. */
interface Told {
  labels?: Record<string, string>;
  value: number;
}

const methods: readonly string[] = ["GET", "HEAD", "POST", "PATCH"];
const one = (value: number): Told[] => [{ value }];
const whether = (is: boolean): Told[] => one(is ? 1 : 0);

export class Metrics {
  readonly #registry = new Registry();
  readonly #commits: Histogram;
  readonly #followed: Histogram;
  readonly #requests: Counter<"method" | "route" | "status">;
  readonly #durations: Histogram<"method" | "route">;
  #health: Health | null = null;

  constructor() {
    const registers = [this.#registry];
    collectDefaultMetrics({ register: this.#registry });
    this.#commits = new Histogram({
      name: "coatclock_store_commit_duration_seconds",
      help: "How long the store took to commit a group of packs",
      buckets: [0.001, 0.005, 0.02, 0.1, 0.5, 2],
      registers,
    });
    this.#followed = new Histogram({
      name: "coatclock_follow_reading_duration_seconds",
      help: "How long the coats took to follow one reading: the mean of those committed together",
      buckets: [0.00005, 0.0002, 0.001, 0.005, 0.02, 0.1],
      registers,
    });
    this.#requests = new Counter({
      name: "coatclock_http_requests_total",
      help: "Requests answered, by the API's routes; pages and all else are 'other'",
      labelNames: ["method", "route", "status"],
      registers,
    });
    this.#durations = new Histogram({
      name: "coatclock_http_request_duration_seconds",
      help: "From a request to the end of its answer; without event streams",
      labelNames: ["method", "route"],
      buckets: [0.005, 0.02, 0.1, 0.5, 2, 10],
      registers,
    });
  }

  get contentType(): string {
    return this.#registry.contentType;
  }

  /** A group of packs was committed, in so many milliseconds. */
  committed(tookMs: number): void {
    this.#commits.observe(tookMs / 1000);
  }

  /** So many readings were followed, in so many milliseconds. */
  followed(readings: number, tookMs: number): void {
    if (readings > 0) this.#followed.observe(tookMs / 1000 / readings);
  }

  /** Counts a request when it has been answered, or broken off. */
  watch(request: Request, response: Response): void {
    const fromMs = performance.now();
    response.once("close", () => {
      const path: unknown = request.route?.path;
      const isOfApi = typeof path === "string" && path.startsWith("/api/");
      const route = isOfApi ? path.replaceAll(/:(\w+)/g, "{$1}") : "other";
      const method = methods.includes(request.method) ? request.method : "other";
      this.#requests.inc({ method, route, status: String(response.statusCode) });
      const isStream = String(response.getHeader("content-type")).startsWith("text/event-stream");
      if (!isStream) this.#durations.observe({ method, route }, (performance.now() - fromMs) / 1000);
    });
  }

  /** Adds the figures that the other parts keep. Called once. */
  tellOf({ health, receiptsSent, coatsFollowed, streams, warnings }: MetricsParts): void {
    const asked = (): Health => {
      this.#health ??= health();
      return this.#health;
    };
    const gauge = this.#told("gauge");
    const counter = this.#told("counter");

    gauge("coatclock_info", "The program's version", ["version"], () => [
      { labels: { version: asked().versions.coatclock }, value: 1 },
    ]);
    counter("coatclock_packs_total", "Packs that came, by what became of them", ["outcome"], () => {
      const { packsStored, packsRefused, packsShed, packsUndated } = asked().intake;
      const outcomes = { stored: packsStored, refused: packsRefused, shed: packsShed, undated: packsUndated };
      return Object.entries(outcomes).map(([outcome, value]) => ({ labels: { outcome }, value }));
    });
    gauge("coatclock_packs_waiting", "Packs that wait to be committed", [], () => one(asked().intake.packsWaiting));
    counter("coatclock_readings_total", "Readings that came, new or in the store already", ["outcome"], () => {
      const { readingsStored, readingsKnown } = asked().intake;
      return Object.entries({ stored: readingsStored, known: readingsKnown }).map(([outcome, value]) => ({
        labels: { outcome },
        value,
      }));
    });
    counter("coatclock_readings_unusable_total", "Readings stored that nothing is reckoned from", [], () =>
      one(asked().intake.readingsUnusable),
    );
    counter("coatclock_receipts_sent_total", "Receipts that the broker took", [], () => one(receiptsSent()));
    gauge("coatclock_store_fault", "1 while the store refuses readings", [], () =>
      whether(asked().store.fault !== null),
    );
    gauge("coatclock_records_fault", "1 while the records' log is not what was entered", [], () =>
      whether(asked().records.fault !== null),
    );
    counter("coatclock_records_entries_total", "Entries in the records' log", [], () => one(asked().records.entries));
    gauge("coatclock_broker_connected", "1 while the broker is there", [], () => whether(asked().broker.connected));
    counter("coatclock_broker_refusals_total", "What the broker inside refused, by kind", ["kind"], () =>
      Object.entries(asked().broker.refusals ?? {}).map(([kind, value]) => ({ labels: { kind }, value })),
    );
    gauge("coatclock_clock_believed", "1 while this machine's clock can be believed", [], () =>
      whether(clockStates.some((state) => state === asked().clock.state && isBelieved(state))),
    );
    gauge("coatclock_clock_state", "1 for the state that this machine's clock is in", ["state"], () =>
      clockStates.map((state) => ({ labels: { state }, value: state === asked().clock.state ? 1 : 0 })),
    );
    const ofCollectors = (value: (collector: Health["collectors"][number]) => number | undefined) => () =>
      asked().collectors.flatMap((collector) => {
        const told = value(collector);
        return told === undefined ? [] : [{ labels: { collector: collector.name }, value: told }];
      });
    gauge(
      "coatclock_collector_online",
      "1 while a collector is connected",
      ["collector"],
      ofCollectors(({ online }) => (online ? 1 : 0)),
    );
    gauge(
      "coatclock_collector_outbox_packs",
      "Packs that wait at a collector for their receipt",
      ["collector"],
      ofCollectors(({ outboxPacks }) => outboxPacks),
    );
    counter(
      "coatclock_collector_dropped_packs_total",
      "Packs a collector lost because its outbox was full",
      ["collector"],
      ofCollectors(({ droppedPacks }) => droppedPacks),
    );
    counter(
      "coatclock_collector_refused_packs_total",
      "Packs of a collector that were refused for good",
      ["collector"],
      ofCollectors(({ refusedPacks }) => refusedPacks),
    );
    gauge(
      "coatclock_sensor_current",
      "1 while a place hears from its sensor as often as it should",
      ["place", "quantity"],
      () =>
        asked().sensors.map(({ place, quantity, current }) => ({
          labels: { place, quantity },
          value: current ? 1 : 0,
        })),
    );
    gauge("coatclock_coats_followed", "Coats that are followed live", [], () => one(coatsFollowed()));
    gauge("coatclock_streams_open", "Pages that follow the event stream", [], () => one(asked().streams));
    counter("coatclock_stream_events_sent_total", "Events sent to pages, each page counted", [], () =>
      one(streams.eventsSent),
    );
    counter("coatclock_streams_dropped_total", "Pages left because they took no more", [], () => one(streams.dropped));
    gauge("coatclock_warnings_open", "Warnings that nobody has answered or set aside", ["rule", "urgency"], () =>
      counted(warnings.all().filter(({ state }) => state === "open")),
    );
    counter("coatclock_warnings_raised_total", "Warnings raised since the start", [], () => one(warnings.raised));
    counter("coatclock_notices_total", "Notices to a webhook or by mail", ["channel", "outcome"], () =>
      asked().notify.flatMap(({ channel, sent, lost }) => [
        { labels: { channel, outcome: "sent" }, value: sent },
        { labels: { channel, outcome: "lost" }, value: lost },
      ]),
    );
  }

  /** All figures as they stand now. */
  async text(): Promise<string> {
    this.#health = null;
    return await this.#registry.metrics();
  }

  /** Adds a figure that is asked for at each reading. */
  #told(kind: "gauge" | "counter") {
    const Kind = kind === "gauge" ? Gauge<string> : Counter<string>;
    return (name: string, help: string, labelNames: string[], rows: () => Told[]): void => {
      new Kind({
        name,
        help,
        labelNames,
        registers: [this.#registry],
        collect() {
          this.reset();
          for (const { labels = {}, value } of rows()) this.inc(labels, value);
        },
      });
    };
  }
}

function counted(warnings: readonly Warning[]): Told[] {
  const byKind = new Map<string, { labels: Record<string, string>; value: number }>();
  for (const { rule, urgency } of warnings) {
    const told = byKind.get(`${rule} ${urgency}`) ?? { labels: { rule, urgency }, value: 0 };
    told.value += 1;
    byKind.set(`${rule} ${urgency}`, told);
  }
  return [...byKind.values()];
}
