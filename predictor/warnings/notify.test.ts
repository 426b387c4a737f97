import { once } from "node:events";
import { createServer, type IncomingMessage, type Server } from "node:http";
import { type AddressInfo, createServer as createTcpServer, type Socket } from "node:net";
import { createTransport } from "nodemailer";
import { pino } from "pino";
import { SMTPServer } from "smtp-server";
import { afterEach, describe, expect, it } from "vitest";
import { text } from "../../words/text.ts";
import { wordsOf } from "../../words/words.ts";
import type { NoticeData } from "./notices.ts";
import { Notify } from "./notify.ts";
import { type NotifySettings, notifySchema } from "./notify-settings.ts";
import { mailFault, mailOptions } from "./notify-ways.ts";

const notice: NoticeData = {
  id: "n-1",
  atMs: Date.parse("2026-03-02T08:00:00Z"),
  kind: "warning",
  urgency: "now",
  text: text("warn.records", { fault: "entry 7\r\nBcc: all@example.org" }),
  action: text("warn.records.do"),
  warningId: "w-1",
  coatId: null,
  carId: null,
  count: 1,
};
const stops: (() => Promise<void>)[] = [];
afterEach(async () => {
  for (const stop of stops.splice(0).reverse()) await stop();
});

function notifyBy(settings: object, secrets: ConstructorParameters<typeof Notify>[0]["secrets"] = {}): Notify {
  const notify = new Notify({
    settings: notifySchema.parse(settings) as NotifySettings,
    secrets,
    shop: { id: "tested", name: "Tested shop", invented: true },
    words: wordsOf({ language: "en", timeZone: "Etc/UTC", units: { temperature: "C", clock: "24h" } }),
    logger: pino({ level: "silent" }),
  });
  stops.push(() => notify.stop());
  return notify;
}

/** A real HTTP server that answers as told, and keeps what came. */
async function webhook(statuses: number[]) {
  const came: { body: unknown; headers: IncomingMessage["headers"] }[] = [];
  const server: Server = createServer((request, response) => {
    let body = "";
    request.on("data", (chunk: Buffer) => {
      body += chunk.toString();
    });
    request.on("end", () => {
      came.push({ body: JSON.parse(body), headers: request.headers });
      response.writeHead(statuses.shift() ?? 204).end();
    });
  });
  server.listen(0, "127.0.0.1");
  await once(server, "listening");
  stops.push(async () => {
    server.closeAllConnections();
    server.close();
  });
  return { came, url: `http://127.0.0.1:${(server.address() as AddressInfo).port}/bell` };
}

describe("a webhook", () => {
  it("gets the notice as JSON, with the headers of the shop's own file", async () => {
    const { came, url } = await webhook([]);
    const notify = notifyBy({ webhook: { url } }, { headers: { authorization: "Bearer secret" } });
    notify.take(notice);
    await expect.poll(() => notify.state()).toEqual([{ channel: "webhook", sent: 1, lost: 0, fault: null }]);
    expect(came[0]?.headers.authorization).toBe("Bearer secret");
    expect(came[0]?.body).toMatchObject({
      shop: { id: "tested", invented: true },
      id: "n-1",
      at: "2026-03-02T08:00:00.000Z",
      urgency: "now",
      action: "Call whoever installs; keep a copy of the data folder.",
    });
  });

  it("is tried again when it fails, in order, and its fault is told until one gets through", async () => {
    const { came, url } = await webhook([500]);
    const notify = notifyBy({ webhook: { url } });
    notify.take(notice);
    notify.take({ ...notice, id: "n-2" });
    await expect.poll(() => notify.state()[0]?.fault).toBe("the webhook answered 500");
    await expect.poll(() => notify.state()[0]).toMatchObject({ sent: 2, lost: 0, fault: null });
    expect(came.map(({ body }) => (body as { id: string }).id)).toEqual(["n-1", "n-1", "n-2"]);
  });

  it("that is away blocks nothing: at most 50 wait, and a stop does not wait for it", async () => {
    const notify = notifyBy({ webhook: { url: "http://127.0.0.1:9/" } });
    for (let index = 0; index < 60; index++) notify.take({ ...notice, id: String(index) });
    expect(notify.state()[0]?.lost).toBe(9);
    const before = performance.now();
    await notify.stop();
    expect(performance.now() - before).toBeLessThan(5_000);
  });

  it("is spared what is less urgent than the shop file asks for", async () => {
    const { came, url } = await webhook([]);
    const notify = notifyBy({ webhook: { url }, urgencies: ["now"] });
    notify.take({ ...notice, urgency: "today" });
    notify.take({ ...notice, id: "n-2" });
    await expect.poll(() => notify.state()[0]?.sent).toBe(1);
    expect(came).toHaveLength(1);
  });
});

/** A server that takes the connection and never says a word. */
async function silentServer(): Promise<number> {
  const sockets: Socket[] = [];
  const server = createTcpServer((socket) => sockets.push(socket));
  server.listen(0, "127.0.0.1");
  await once(server, "listening");
  stops.push(async () => {
    for (const socket of sockets) socket.destroy();
    server.close();
  });
  return (server.address() as AddressInfo).port;
}

describe("a stop", () => {
  it("waits for no server that does not answer", async () => {
    const port = await silentServer();
    const webhook = { url: `http://127.0.0.1:${port}/bell` };
    const email = { host: "127.0.0.1", port, from: "coatclock@example.org", to: ["painter@example.org"] };
    const notify = notifyBy({ webhook, email });
    notify.take(notice);
    await new Promise((resolve) => setTimeout(resolve, 200));
    const before = performance.now();
    await notify.stop();
    expect(performance.now() - before).toBeLessThan(2_000);
    expect(notify.state()).toMatchObject([
      { sent: 0, lost: 1, fault: null },
      { sent: 0, lost: 1, fault: null },
    ]);
  });
});

describe("a mail's way", () => {
  const settings = (host: string, more: object = {}) =>
    notifySchema.parse({ email: { host, from: "coatclock@example.org", to: ["painter@example.org"], ...more } })
      .email as NonNullable<NotifySettings["email"]>;

  it.each(["localhost", "LocalHost.", "mail.localhost", "127.0.0.1", "127.8.0.2", "::1"])(
    "may be open to %s, which is this machine",
    (host) => expect(mailOptions(settings(host), undefined).requireTLS).toBe(false),
  );

  it.each(["mail.example.org", "192.168.1.5", "127.0.0.1.example.org", "localhost.example.org", "127.1", "::2", "pi"])(
    "is encrypted to %s, by STARTTLS or from the first byte",
    (host) => {
      expect(mailOptions(settings(host), undefined)).toMatchObject({ secure: false, requireTLS: true });
      const secure = mailOptions(settings(host, { secure: true, port: 465 }), undefined);
      expect(secure).toMatchObject({ secure: true, requireTLS: false });
    },
  );

  it("is refused by a real server without STARTTLS before the password is said, with a clear word", async () => {
    let heard = false;
    const server = new SMTPServer({
      allowInsecureAuth: true,
      disabledCommands: ["STARTTLS"],
      onAuth: (_auth, _session, done) => {
        heard = true;
        done(null, { user: "shop" });
      },
    });
    server.listen(0, "127.0.0.1");
    await once(server.server, "listening");
    stops.push(() => new Promise((closed) => server.close(() => closed())));
    const { port } = server.server.address() as AddressInfo;
    const options = mailOptions(settings("mail.example.org", { port }), { username: "shop", password: "secret" });
    const sent = createTransport({ ...options, host: "127.0.0.1" }).sendMail({
      from: "coatclock@example.org",
      to: "painter@example.org",
      text: "ready",
    });
    const fault = await sent.then(
      () => null,
      (error: unknown) => mailFault(error, "mail.example.org"),
    );
    expect(String(fault)).toMatch(/no encrypted way to mail.example.org \(.*STARTTLS.*\): no mail and no password/);
    expect(heard).toBe(false);
  });
});

describe("a mail", () => {
  it("goes to a real server with name and password, one line as its subject, and carries the caution", async () => {
    const mails: string[] = [];
    const server = new SMTPServer({
      authOptional: false,
      allowInsecureAuth: true,
      disabledCommands: ["STARTTLS"],
      onAuth: ({ username, password }, _session, done) =>
        username === "shop" && password === "secret" ? done(null, { user: "shop" }) : done(new Error("no")),
      onData: (stream, _session, done) => {
        let mail = "";
        stream.on("data", (chunk: Buffer) => {
          mail += chunk.toString();
        });
        stream.on("end", () => {
          mails.push(mail);
          done();
        });
      },
    });
    server.listen(0, "127.0.0.1");
    await once(server.server, "listening");
    stops.push(() => new Promise((closed) => server.close(() => closed())));
    const { port } = server.server.address() as AddressInfo;
    const email = { host: "127.0.0.1", port, from: "coatclock@example.org", to: ["painter@example.org"] };
    const notify = notifyBy({ email }, { credentials: { username: "shop", password: "secret" } });
    notify.take(notice);
    await expect.poll(() => notify.state()).toEqual([{ channel: "email", sent: 1, lost: 0, fault: null }]);
    const [mail = ""] = mails;
    const [head = ""] = mail.split("\r\n\r\n");
    expect(mail).toMatch(/^Subject: Tested shop: The records: entry 7 Bcc: all@example\.org\r?$/m);
    expect(head).not.toMatch(/^Bcc:/m);
    expect(mail).toContain("isocyanate can be free for days");
    expect(mail).toContain("Invented shop");
  });

  it("that no server takes is told as a fault", async () => {
    const email = { host: "127.0.0.1", port: 9, from: "coatclock@example.org", to: ["painter@example.org"] };
    const notify = notifyBy({ email });
    notify.take(notice);
    await expect.poll(() => notify.state()[0]?.fault).toMatch(/ECONNREFUSED/);
  });
});
