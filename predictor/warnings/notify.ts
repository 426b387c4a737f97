/** Sends notices on, each way in its own time. A failure is told and blocks nothing, a stop neither. docs/warnings.md describes it. */
import type { Logger } from "pino";
import type { NoticeData } from "./notices.ts";
import type { NotifySettings } from "./notify-settings.ts";
import { type Send, toEmail, toWebhook, type WayParts } from "./notify-ways.ts";

export interface NotifyParts extends WayParts {
  settings: NotifySettings;
  logger: Logger;
}

export interface NotifyState {
  channel: "webhook" | "email";
  sent: number;
  /** Given up after the last try, or dropped because too many waited. */
  lost: number;
  /** Of the last failure, until one gets through. */
  fault: string | null;
}

/** After a failure it is tried again after these; then it is given up: an old message helps nobody. */
const triesAfterMs = [2_000, 15_000, 60_000];
const waitingAtMost = 50;

export class Notify {
  readonly #channels: Channel[];
  readonly #urgencies: readonly string[];

  constructor(parts: NotifyParts) {
    const { webhook, email, urgencies } = parts.settings;
    this.#urgencies = urgencies;
    this.#channels = [
      ...(webhook === undefined ? [] : [new Channel("webhook", toWebhook(webhook, parts), parts.logger)]),
      ...(email === undefined ? [] : [new Channel("email", toEmail(email, parts), parts.logger)]),
    ];
  }

  /** Takes a notice; it goes out in its turn. */
  take(notice: NoticeData): void {
    if (!this.#urgencies.includes(notice.urgency)) return;
    for (const channel of this.#channels) channel.take(notice);
  }

  state(): NotifyState[] {
    return this.#channels.map((channel) => channel.state());
  }

  /** What waits is not sent any more, and no answer is waited for. */
  async stop(): Promise<void> {
    await Promise.all(this.#channels.map((channel) => channel.stop()));
  }
}

/** One after another, in order. */
class Channel {
  readonly #name: NotifyState["channel"];
  readonly #send: Send;
  readonly #logger: Logger;
  readonly #ending = new AbortController();
  #waiting: NoticeData[] = [];
  #working: Promise<void> | null = null;
  #sent = 0;
  #lost = 0;
  #fault: string | null = null;

  constructor(name: NotifyState["channel"], send: Send, logger: Logger) {
    this.#name = name;
    this.#send = send;
    this.#logger = logger;
  }

  take(notice: NoticeData): void {
    this.#waiting.push(notice);
    if (this.#waiting.length > waitingAtMost) {
      this.#waiting.shift();
      this.#lost += 1;
    }
    this.#working ??= this.#work().finally(() => {
      this.#working = null;
    });
  }

  state(): NotifyState {
    return { channel: this.#name, sent: this.#sent, lost: this.#lost, fault: this.#fault };
  }

  async stop(): Promise<void> {
    this.#ending.abort();
    await this.#working;
  }

  async #work(): Promise<void> {
    for (let notice = this.#waiting.shift(); notice !== undefined; notice = this.#waiting.shift()) {
      if (this.#ending.signal.aborted) return;
      if (await this.#deliver(notice)) this.#sent += 1;
      else this.#lost += 1;
    }
  }

  async #deliver(notice: NoticeData): Promise<boolean> {
    for (const afterMs of [0, ...triesAfterMs]) {
      if (!(await this.#pause(afterMs))) return false;
      try {
        await this.#send(notice, this.#ending.signal);
        this.#fault = null;
        return true;
      } catch (error) {
        if (this.#ending.signal.aborted) return false;
        this.#fault = error instanceof Error ? error.message : String(error);
        this.#logger.warn({ channel: this.#name, fault: this.#fault, notice: notice.id }, "a notice could not be sent");
      }
    }
    return false;
  }

  /** False when it was ended meanwhile. */
  #pause(ms: number): Promise<boolean> {
    const { signal } = this.#ending;
    return new Promise((resolve) => {
      if (signal.aborted) {
        resolve(false);
        return;
      }
      const ended = () => {
        clearTimeout(timer);
        resolve(false);
      };
      const timer = setTimeout(() => {
        signal.removeEventListener("abort", ended);
        resolve(true);
      }, ms);
      signal.addEventListener("abort", ended, { once: true });
    });
  }
}
