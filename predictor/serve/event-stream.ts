/** Server-sent events (WHATWG HTML §9.2): readings at once, whole views a moment later, and a beat so that silence tells. */
import type { Request, Response } from "express";
import type { Language, Words } from "../../words/words.ts";
import type { Change } from "../follow/follow.ts";
import type { NoticeData } from "../warnings/notices.ts";
import type { CoatView, ReadingEvent } from "./api.ts";
import { nextEventMs } from "./coat-view.ts";
import type { Views } from "./views.ts";
import { noticeView } from "./warning-views.ts";

export interface StreamParts {
  /** Changes when the pages or the program change: a page that hears of another loads itself anew. */
  version: string;
  now: () => number;
  views: Pick<Views, "placeView" | "overview" | "cars">;
  wordsIn: (language: Language) => Words;
}

/** What a page follows: the wall of a place, all places, or the list of cars. */
export type Subject = { kind: "place"; place: string } | { kind: "overview" } | { kind: "cars" };

/** What a page wants to follow, and whether it may (still). */
export interface Following {
  subject: Subject;
  language: Language;
  mayRead: () => boolean;
}

/** All pages that follow the same in the same language get the same events. */
interface Channel {
  subject: Subject;
  language: Language;
  /** Each with whether it may still read. */
  listeners: Map<Response, () => boolean>;
  /** Running while a view is due. */
  viewTimer: NodeJS.Timeout | null;
  /** Runs until something next happens to a coat. */
  eventTimer: NodeJS.Timeout | null;
}

const delaysMs = { place: 250, overview: 1_000, cars: 1_000 };
const beatMs = 10_000;
/** Whose session ended hears nothing more after this long. */
const lookEveryMs = 4_000;
/** A browser that has not taken this much is stalled: its connection is ended, and it asks anew when it lives. */
const unsentBytesAtMost = 512 * 1024;
const subscribersAtMost = 400;

export class EventStream {
  readonly #parts: StreamParts;
  readonly #channels = new Map<string, Channel>();
  readonly #beat: NodeJS.Timeout;
  readonly #look: NodeJS.Timeout;
  #eventsSent = 0;
  #dropped = 0;

  constructor(parts: StreamParts) {
    this.#parts = parts;
    this.#beat = setInterval(() => {
      const text = eventText("beat", { at: new Date(parts.now()).toISOString() });
      for (const channel of this.#channels.values()) {
        this.#send(channel, text);
        // Times of day pass without readings, too.
        this.#viewSoon(channel);
      }
    }, beatMs);
    this.#look = setInterval(() => this.#dismiss(), lookEveryMs);
  }

  get subscribers(): number {
    return [...this.#channels.values()].reduce((sum, { listeners }) => sum + listeners.size, 0);
  }

  /** Since the start, each listener counted. */
  get eventsSent(): number {
    return this.#eventsSent;
  }

  /** How many connections were ended because the browser took no more. */
  get dropped(): number {
    return this.#dropped;
  }

  /** Answers a request with the stream; false when there are too many already. */
  open(request: Request, response: Response, { subject, language, mayRead }: Following): boolean {
    if (this.subscribers >= subscribersAtMost) return false;
    response.writeHead(200, {
      "Content-Type": "text/event-stream",
      "Cache-Control": "no-store",
      "X-Accel-Buffering": "no",
    });
    const channel = this.#channelOf(subject, language);
    channel.listeners.set(response, mayRead);
    request.on("close", () => this.#leave(channel, response));
    this.#write(channel, response, eventText("hello", { version: this.#parts.version }));
    this.#write(channel, response, eventText("beat", { at: new Date(this.#parts.now()).toISOString() }));
    this.#write(channel, response, this.#viewText(channel));
    return true;
  }

  changed({ places, readings }: Change): void {
    for (const channel of this.#channels.values()) {
      const { subject } = channel;
      if (subject.kind === "place") {
        for (const reading of readings) {
          if (reading.place === subject.place) this.#send(channel, eventText("reading", readingEvent(reading)));
        }
      }
      if (subject.kind !== "place" || places.has(subject.place)) this.#viewSoon(channel);
    }
  }

  /** Tells the phones, which follow the list of cars. */
  notice(notice: NoticeData): void {
    for (const channel of this.#channels.values()) {
      if (channel.subject.kind !== "cars") continue;
      this.#send(channel, eventText("notice", noticeView(notice, this.#parts.wordsIn(channel.language))));
    }
  }

  stop(): void {
    clearInterval(this.#beat);
    clearInterval(this.#look);
    for (const channel of this.#channels.values()) {
      this.#quiet(channel);
      for (const response of channel.listeners.keys()) response.end();
    }
    this.#channels.clear();
  }

  /** Ends the streams of those who may not read any more. */
  #dismiss(): void {
    for (const channel of this.#channels.values()) {
      for (const [response, mayRead] of channel.listeners) {
        if (mayRead()) continue;
        this.#leave(channel, response);
        response.end();
      }
    }
  }

  #channelOf(subject: Subject, language: Language): Channel {
    const key = `${subject.kind}/${subject.kind === "place" ? subject.place : ""}/${language}`;
    const channel = this.#channels.get(key) ?? {
      subject,
      language,
      listeners: new Map(),
      viewTimer: null,
      eventTimer: null,
    };
    this.#channels.set(key, channel);
    return channel;
  }

  /** A channel without listeners does nothing. There are no more of them than places and languages. */
  #leave(channel: Channel, response: Response): void {
    channel.listeners.delete(response);
    if (channel.listeners.size === 0) this.#quiet(channel);
  }

  #quiet(channel: Channel): void {
    clearTimeout(channel.viewTimer ?? undefined);
    clearTimeout(channel.eventTimer ?? undefined);
    channel.viewTimer = null;
    channel.eventTimer = null;
  }

  #viewSoon(channel: Channel): void {
    if (channel.viewTimer !== null || channel.listeners.size === 0) return;
    channel.viewTimer = setTimeout(() => {
      channel.viewTimer = null;
      this.#send(channel, this.#viewText(channel));
    }, delaysMs[channel.subject.kind]);
  }

  /** The view as an event; a stage that becomes likely or safe before the next beat is told at its instant, in another. */
  #viewText(channel: Channel): string {
    const { subject } = channel;
    const { view, coats } = this.#viewOf(subject, this.#parts.wordsIn(channel.language));
    const nowMs = this.#parts.now();
    const dueInMs = Math.min(...coats.map((coat) => nextEventMs(coat, nowMs))) - nowMs;
    clearTimeout(channel.eventTimer ?? undefined);
    channel.eventTimer = dueInMs < beatMs ? setTimeout(() => this.#viewSoon(channel), dueInMs) : null;
    return eventText(subject.kind, view);
  }

  #viewOf(subject: Subject, words: Words): { view: object; coats: readonly CoatView[] } {
    const { views } = this.#parts;
    if (subject.kind === "place") {
      const view = views.placeView(subject.place, words);
      return { view, coats: view.coats };
    }
    if (subject.kind === "overview") {
      const view = views.overview(words);
      return { view, coats: view.places.flatMap((place) => place.coats) };
    }
    const view = views.cars(words);
    return { view, coats: view.cars.flatMap((car) => car.coats) };
  }

  #send(channel: Channel, text: string): void {
    for (const response of channel.listeners.keys()) this.#write(channel, response, text);
  }

  #write(channel: Channel, response: Response, text: string): void {
    if (response.writableLength > unsentBytesAtMost) {
      this.#leave(channel, response);
      response.destroy();
      this.#dropped += 1;
      return;
    }
    this.#eventsSent += 1;
    response.write(text);
  }
}

function readingEvent({ place, quantity, sensor, atMs, value }: Change["readings"][number]): ReadingEvent {
  return { place, quantity, sensor, at: new Date(atMs).toISOString(), value };
}

function eventText(event: string, data: object): string {
  return `event: ${event}\ndata: ${JSON.stringify(data)}\n\n`;
}
