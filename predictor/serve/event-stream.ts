/** Server-sent events (WHATWG HTML §9.2): readings at once, whole views a moment later, and a beat so that silence tells. */
import type { Request, Response } from "express";
import type { Change } from "../follow/follow.ts";
import type { Cars, PlaceView, ReadingEvent } from "./api.ts";
import { nextEventMs } from "./views.ts";

export interface StreamParts {
  version: string;
  now: () => number;
  placeView: (place: string) => PlaceView;
  cars: () => Cars;
}

interface Subscriber {
  response: Response;
  /** Null: the list of cars. */
  place: string | null;
}

const viewDelayMs = 250;
const carsDelayMs = 1_000;
const beatMs = 10_000;
/** A browser that has not taken this much is stalled: its connection is ended, and it asks anew when it lives. */
const unsentBytesAtMost = 512 * 1024;
const subscribersAtMost = 400;

export class EventStream {
  readonly #parts: StreamParts;
  readonly #subscribers = new Set<Subscriber>();
  readonly #staleTimers = new Map<string | null, NodeJS.Timeout>();
  readonly #eventTimers = new Map<string | null, NodeJS.Timeout>();
  readonly #beat: NodeJS.Timeout;

  constructor(parts: StreamParts) {
    this.#parts = parts;
    this.#beat = setInterval(() => {
      this.#send(() => true, "beat", { at: new Date(parts.now()).toISOString() });
      // Times of day pass without readings, too.
      for (const key of new Set([...this.#subscribers].map((each) => each.place))) this.#viewSoon(key);
    }, beatMs);
  }

  get subscribers(): number {
    return this.#subscribers.size;
  }

  /** Answers a request with the stream; false when there are too many already. */
  open(request: Request, response: Response, place: string | null): boolean {
    if (this.#subscribers.size >= subscribersAtMost) return false;
    response.writeHead(200, {
      "Content-Type": "text/event-stream",
      "Cache-Control": "no-store",
      "X-Accel-Buffering": "no",
    });
    const subscriber = { response, place };
    this.#subscribers.add(subscriber);
    request.on("close", () => this.#subscribers.delete(subscriber));
    this.#write(subscriber, eventText("hello", { version: this.#parts.version }));
    this.#write(subscriber, eventText("beat", { at: new Date(this.#parts.now()).toISOString() }));
    this.#write(subscriber, this.#viewText(place));
    return true;
  }

  changed({ places, readings }: Change): void {
    for (const reading of readings) {
      const event: ReadingEvent = {
        place: reading.place,
        quantity: reading.quantity,
        sensor: reading.sensor,
        at: new Date(reading.atMs).toISOString(),
        value: reading.value,
      };
      this.#send((each) => each.place === reading.place, "reading", event);
    }
    for (const place of places) this.#viewSoon(place);
    this.#viewSoon(null);
  }

  stop(): void {
    clearInterval(this.#beat);
    for (const timer of [...this.#staleTimers.values(), ...this.#eventTimers.values()]) clearTimeout(timer);
    for (const { response } of this.#subscribers) response.end();
    this.#subscribers.clear();
  }

  #viewSoon(key: string | null): void {
    if (this.#staleTimers.has(key) || ![...this.#subscribers].some((each) => each.place === key)) return;
    const timer = setTimeout(
      () => {
        this.#staleTimers.delete(key);
        const text = this.#viewText(key);
        for (const each of this.#subscribers) if (each.place === key) this.#write(each, text);
      },
      key === null ? carsDelayMs : viewDelayMs,
    );
    this.#staleTimers.set(key, timer);
  }

  /** The view as an event; a stage that becomes likely or safe before the next beat is told at its instant, in another. */
  #viewText(place: string | null): string {
    const [event, view] =
      place === null ? (["cars", this.#parts.cars()] as const) : (["place", this.#parts.placeView(place)] as const);
    const coats = "cars" in view ? view.cars.flatMap((car) => car.coats) : view.coats;
    const nowMs = this.#parts.now();
    const dueInMs = Math.min(...coats.map((coat) => nextEventMs(coat, nowMs))) - nowMs;
    clearTimeout(this.#eventTimers.get(place));
    if (dueInMs < beatMs)
      this.#eventTimers.set(
        place,
        setTimeout(() => this.#viewSoon(place), dueInMs),
      );
    return eventText(event, view);
  }

  #send(to: (subscriber: Subscriber) => boolean, event: string, data: object): void {
    const text = eventText(event, data);
    for (const subscriber of this.#subscribers) if (to(subscriber)) this.#write(subscriber, text);
  }

  #write(subscriber: Subscriber, text: string): void {
    if (subscriber.response.writableLength > unsentBytesAtMost) {
      this.#subscribers.delete(subscriber);
      subscriber.response.destroy();
      return;
    }
    subscriber.response.write(text);
  }
}

function eventText(event: string, data: object): string {
  return `event: ${event}\ndata: ${JSON.stringify(data)}\n\n`;
}
