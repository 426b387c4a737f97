/** The ways by which a notice leaves the machine: as JSON to a webhook, as a short mail. */
import type { Transporter } from "nodemailer";
import type { Words } from "../../words/words.ts";
import type { NoticeData } from "./notices.ts";
import type { NotifySecrets, NotifySettings } from "./notify-settings.ts";
import { isThisMachine } from "./this-machine.ts";

export interface WayParts {
  secrets: NotifySecrets;
  shop: { id: string; name: string; invented: boolean };
  /** The shop's own. */
  words: Words;
}

/** Rejects at once when the signal comes. */
export type Send = (notice: NoticeData, ending: AbortSignal) => Promise<void>;

type WebhookSettings = NonNullable<NotifySettings["webhook"]>;
type EmailSettings = NonNullable<NotifySettings["email"]>;

const answerWithinMs = 10_000;

export function toWebhook({ url }: WebhookSettings, { secrets, shop, words }: WayParts): Send {
  return async (notice, ending) => {
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
      signal: AbortSignal.any([ending, AbortSignal.timeout(answerWithinMs)]),
    });
    await response.body?.cancel();
    if (!response.ok) throw new Error(`the webhook answered ${response.status}`);
  };
}

export function toEmail(settings: EmailSettings, { secrets, shop, words }: WayParts): Send {
  const { from, to } = settings;
  let transport: Transporter | null = null;
  return async (notice, ending) => {
    // Loaded for the first mail: it would lengthen every start.
    transport ??= (await import("nodemailer")).createTransport(mailOptions(settings, secrets.credentials));
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
    const mail = transport.sendMail({ from, to: to.join(", "), subject, text: lines.join("\n") });
    await until(ending, mail).catch((error: unknown) => {
      throw mailFault(error, settings.host);
    });
  };
}

/** To another machine a mail and its password go encrypted or not at all. */
export function mailOptions({ host, port, secure }: EmailSettings, credentials: NotifySecrets["credentials"]) {
  return {
    host,
    port,
    secure,
    requireTLS: !secure && !isThisMachine(host),
    ...(credentials === undefined ? {} : { auth: { user: credentials.username, pass: credentials.password } }),
    connectionTimeout: answerWithinMs,
    greetingTimeout: answerWithinMs,
    socketTimeout: answerWithinMs,
    disableFileAccess: true,
    disableUrlAccess: true,
  };
}

/** What nodemailer says of a server without STARTTLS tells nobody why. */
export function mailFault(error: unknown, host: string): unknown {
  if (!(error instanceof Error && "code" in error && error.code === "ETLS")) return error;
  return new Error(`no encrypted way to ${host} (${error.message}): no mail and no password goes there in the clear`);
}

/** Mail servers are slow, and nodemailer can't be called off: its answer is waited for no longer. */
function until<T>(ending: AbortSignal, answer: Promise<T>): Promise<T> {
  return new Promise((resolve, reject) => {
    const ended = () => reject(new Error("called off"));
    ending.addEventListener("abort", ended, { once: true });
    answer.then(resolve, reject).finally(() => ending.removeEventListener("abort", ended));
  });
}
