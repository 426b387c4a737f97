/** Sends notices on: as JSON to a webhook, as a short mail. A failure is told and blocks nothing. docs/warnings.md describes both. */
import { createTransport } from "nodemailer";
import type { Logger } from "pino";
import type { Words } from "../../words/words.ts";
import type { NoticeData } from "./notices.ts";
import type { NotifySecrets, NotifySettings } from "./notify-settings.ts";

export interface NotifyParts {
  settings: NotifySettings;
  secrets: NotifySecrets;
  shop: { id: string; name: string; invented: boolean };
  /** The shop's own words. */
  words: Words;
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

type Send = (notice: NoticeData) => Promise<void>;

const answerWithinMs = 10_000;
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

  /** What waits is not sent any more. */
  async stop(): Promise<void> {
    for (const channel of this.#channels) await channel.stop();
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
        await this.#send(notice);
        this.#fault = null;
        return true;
      } catch (error) {
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

function toWebhook({ url }: NonNullable<NotifySettings["webhook"]>, { secrets, shop, words }: NotifyParts): Send {
  return async (notice) => {
    const { atMs, text, action, ...rest } = notice;
    const message = {
      shop,
      ...rest,
      at: new Date(atMs).toISOString(),
      text: words.say(text),
      action: words.say(action),
    };
    const response = await fetch(url, {
      method: "POST",
      headers: { "content-type": "application/json", ...secrets.headers },
      body: JSON.stringify(message),
      redirect: "error",
      signal: AbortSignal.timeout(answerWithinMs),
    });
    await response.body?.cancel();
    if (!response.ok) throw new Error(`the webhook answered ${response.status}`);
  };
}

function toEmail(settings: NonNullable<NotifySettings["email"]>, { secrets, shop, words }: NotifyParts): Send {
  const { host, port, secure, from, to } = settings;
  const { credentials } = secrets;
  const transport = createTransport({
    host,
    port,
    secure,
    ...(credentials === undefined ? {} : { auth: { user: credentials.username, pass: credentials.password } }),
    connectionTimeout: answerWithinMs,
    greetingTimeout: answerWithinMs,
    socketTimeout: answerWithinMs,
    disableFileAccess: true,
    disableUrlAccess: true,
  });
  return async (notice) => {
    const said = words.say(notice.text);
    const lines = [
      said,
      words.say(notice.action),
      "",
      words.dateTime(notice.atMs),
      words.t("caution.ready"),
      ...(shop.invented ? [words.t("shop.invented")] : []),
    ];
    // A subject is one line, whatever a car is named.
    const subject = `${shop.name}: ${said}`.replaceAll(/\s+/g, " ").slice(0, 200);
    await transport.sendMail({ from, to: to.join(", "), subject, text: lines.join("\n") });
  };
}
