/**
 * An invented painter, and a quality lead beside, who enter what they do over HTTP: each entry with a key of its own, sent
 * again with it until it is answered.
 */
import { setTimeout as delay } from "node:timers/promises";
import type { CarView } from "../../predictor/serve/api.ts";
import { pin } from "../journeys/program.ts";
import { type Chance, Diary, dayMs, hourMs, isWorkday, minuteMs } from "../load/invented-shop.ts";

type Who = "Installer A" | "Quality A";

export interface Entry {
  who: Who;
  method: "POST" | "PATCH";
  path: string;
  body: object;
}

export interface PainterParts {
  address: string;
  chance: Chance;
  nowMs: () => number;
  startMs: number;
  endMs: number;
  /** The session of whoever set the shop up. */
  cookie: string;
}

const arrivals = [7.7, 9.1, 11.9, 13.8];
const patienceMs = 3_000;
const retryMs = 150;

export class Painter {
  readonly #parts: PainterParts;
  readonly #diary = new Diary();
  readonly #toEnter: (() => Promise<void>)[] = [];
  readonly #cookies = new Map<Who, string>();
  #entries = 0;
  #stopped = false;
  /** Keys that were answered. */
  readonly acknowledged = new Set<string>();
  /** What was refused, in the words of the answer. */
  readonly refused: string[] = [];
  /** Sent once more than it took, in part after the answer. */
  resent = 0;

  constructor(parts: PainterParts) {
    this.#parts = parts;
    this.#cookies.set("Installer A", parts.cookie);
    const { chance, startMs, endMs } = parts;
    const midnightMs = startMs - (startMs % dayMs);
    let number = 0;
    for (let dayFromMs = midnightMs; dayFromMs < endMs; dayFromMs += dayMs) {
      for (const hour of isWorkday(dayFromMs) ? arrivals : []) {
        number += 1;
        this.#carComes(number, dayFromMs + hour * hourMs + chance.between(-6, 6) * minuteMs);
      }
    }
  }

  /** Until the simulated end, and then until all that is begun is answered. */
  async work(): Promise<void> {
    const { nowMs, endMs } = this.#parts;
    while (!this.#stopped) {
      this.#diary.until(nowMs());
      const next = this.#toEnter.shift();
      if (next !== undefined) await next();
      else if (nowMs() >= endMs) return;
      else await delay(20);
    }
  }

  stop(): void {
    this.#stopped = true;
  }

  #carComes(number: number, atMs: number): void {
    const { chance, startMs } = this.#parts;
    if (atMs < startMs) return;
    const car = `soaked-car-${String(number).padStart(8, "0")}`;
    const path = `/api/cars/${car}`;
    const does = (minutes: number, entry: () => Entry | null | Promise<Entry | null>) =>
      this.#diary.at(atMs + (minutes + chance.between(0, 3)) * minuteMs, () =>
        this.#toEnter.push(async () => {
          const asked = await entry();
          if (asked !== null) await this.#enter(asked);
        }),
      );
    const post = (at: string, body: object, who: Who = "Installer A"): Entry => ({
      who,
      method: "POST",
      path: at,
      body,
    });
    /** An entry about the newest coat of the car that nobody has covered. */
    const onCoat = (minutes: number, entry: (coat: string) => Entry) =>
      does(minutes, async () => {
        const coat = (await this.#carOf(path))?.coats.at(-1)?.id;
        return coat === undefined ? null : entry(coat);
      });
    const panels = [
      { name: "door", substrate: "steel" },
      { name: "bumper", substrate: "plastic" },
    ];
    const coat = (sheet: string) =>
      post(`${path}/coats`, { panels: ["door", "bumper"], sheet, batches: [{ component: "A", batch: `B-${number}` }] });
    const move = (place: string) => post(`${path}/moves`, { place });
    const check = (at: string, stage: string, ready: boolean) =>
      post(`/api/coats/${at}/checks`, { stage, ready, how: "nail", note: `car ${number}` });

    does(0, () => post("/api/cars", { id: car, job: `S-${number}`, name: `Car ${number}`, place: "prep", panels }));
    does(8, () => coat("demo-surfacer"));
    onCoat(14, (at) => ({
      who: "Installer A",
      method: "PATCH",
      path: `/api/coats/${at}`,
      body: { reason: `measured again on car ${number}`, filmUm: Math.round(chance.between(70, 130)) },
    }));
    does(20, () => move("workshop"));
    onCoat(35, (at) => check(at, "sand", chance.next() < 0.7));
    does(60, () => move("booth"));
    does(70, () => coat("demo-clear"));
    onCoat(90, (at) => check(at, "dust-free", true));
    does(120, () => move("workshop"));
    onCoat(130, (at) => post(`/api/coats/${at}/hold`, { reason: `a run on car ${number}` }, "Quality A"));
    onCoat(150, (at) => post(`/api/coats/${at}/reopening`, { reason: `polished, car ${number}` }, "Quality A"));
    onCoat(170, (at) => check(at, "polish", true));
    onCoat(180, (at) => post(`/api/coats/${at}/sign-offs`, { meaning: `released, car ${number}` }, "Quality A"));
    does(chance.between(20, 26) * 60, () => post(`${path}/departure`, {}));
  }

  async #carOf(path: string): Promise<CarView | null> {
    const response = await this.#persist(() => this.#fetch("GET", path));
    return response.ok ? ((await response.json()) as CarView) : null;
  }

  async #enter({ who, method, path, body }: Entry): Promise<void> {
    this.#entries += 1;
    const { chance } = this.#parts;
    const key = `soaked-entry-${String(this.#entries).padStart(8, "0")}`;
    const send = (patience = patienceMs) => this.#fetch(method, path, { who, key, body, patience });
    // Someone walks out of reach of the network: the entry may have come or not.
    if (chance.next() < 0.1) await send(chance.between(1, 20)).catch(() => undefined);
    const response = await this.#persist(send, who);
    if (!response.ok) {
      this.refused.push(`${method} ${path}: ${response.status} ${await response.text()}`);
      return;
    }
    this.acknowledged.add(key);
    if (chance.next() >= 0.2) return;
    this.resent += 1;
    await send().catch(() => undefined);
  }

  /** Sends until there is an answer that is not about the state of the program; signs in where the session is over. */
  async #persist(send: () => Promise<Response>, who: Who = "Installer A"): Promise<Response> {
    for (;;) {
      const response = await send().catch(() => null);
      if (response !== null && response.status < 500 && response.status !== 401 && response.status !== 429)
        return response;
      if (this.#stopped) throw new Error("stopped with an entry that nobody answers");
      if (response?.status === 401) await this.#signIn(who);
      this.resent += 1;
      await delay(retryMs);
    }
  }

  async #signIn(who: Who): Promise<void> {
    const body = { name: who, pin };
    const response = await this.#fetch("POST", "/api/sign-in", { body }).catch(() => null);
    if (response?.ok) {
      const cookies = response.headers.getSetCookie().map((cookie) => cookie.split(";")[0]);
      this.#cookies.set(who, cookies.join("; "));
      return;
    }
    if (who === "Installer A") return;
    // Nobody of that name yet.
    await this.#signIn("Installer A");
    const add = { name: who, role: "quality", pin };
    await this.#fetch("POST", "/api/people", { who: "Installer A", body: add }).catch(() => undefined);
  }

  async #fetch(
    method: string,
    path: string,
    {
      who = "Installer A",
      key,
      body,
      patience = patienceMs,
    }: { who?: Who; key?: string; body?: object; patience?: number } = {},
  ): Promise<Response> {
    const cookie = this.#cookies.get(who);
    return fetch(this.#parts.address + path, {
      method,
      headers: {
        "content-type": "application/json",
        ...(cookie === undefined ? {} : { cookie }),
        ...(key === undefined ? {} : { "idempotency-key": key }),
      },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
      signal: AbortSignal.timeout(patience),
    });
  }
}
