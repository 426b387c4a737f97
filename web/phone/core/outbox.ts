/**
 * Entries on their way from the phone to the records: each is kept first, then sent in order, always with its own key.
 *
 * What holds what back:
 * - Entries about the same car stay in order: one the predictor failed over holds back the later ones about that car.
 * - No answer at all holds back everything.
 * - A refused entry holds back nothing, except where it was to make a car: what is about that car waits with it.
 * - An entry goes out only as the person who made it; one made while nobody was signed in, as who signs in next.
 */
import type { OutboxStore, Waiting } from "./outbox-store.ts";

/** What became of a request. */
export type Answer =
  | { kind: "taken" }
  | { kind: "sign in" }
  | { kind: "refused"; detail: string }
  /** The predictor answered that it could not: it may with the next one. */
  | { kind: "failed" }
  | { kind: "no answer" };

export interface OutboxParts {
  store: OutboxStore;
  send(entry: Waiting): Promise<Answer>;
  /** Whose session this phone has, by the predictor: null when nobody's, "no answer" when it does not say. */
  whoIsSignedIn(): Promise<{ name: string } | null | "no answer">;
  /** This device's clock, UTC ms: the leases of its tabs. */
  wallMs(): number;
  /** Among the tabs of this browser, where it can. */
  channel: Pick<BroadcastChannel, "postMessage" | "onmessage" | "close"> | null;
  newId(): string;
}

/** Why what waits was not sent. */
export type Hindrance = "no answer" | "sign in" | "other person" | null;

export interface OutboxState {
  entries: readonly Waiting[];
  hindrance: Hindrance;
  /** False where what waits is lost with the page. */
  lasts: boolean;
}

/** A sender renews it before each request, which takes 10 s at most. */
export const leaseMs = 20_000;
const firstRetryMs = 2_000;
const lastRetryMs = 60_000;

export class Outbox {
  readonly #parts: OutboxParts;
  readonly #owner: string;
  readonly #listeners = new Set<(state: OutboxState) => void>();
  #state: OutboxState;
  #running: Promise<void> | null = null;
  #runAgain = false;
  #retry: ReturnType<typeof setTimeout> | undefined;
  #retryMs = firstRetryMs;
  #stopped = false;

  constructor(parts: OutboxParts) {
    this.#parts = parts;
    this.#owner = parts.newId();
    this.#state = { entries: [], hindrance: null, lasts: parts.store.lasts };
    if (parts.channel !== null) {
      parts.channel.onmessage = ({ data }) => {
        if (data === "changed") void this.#look();
        else if (this.#running !== null) this.#runAgain = true;
      };
    }
  }

  get state(): OutboxState {
    return this.#state;
  }

  onChange(listener: (state: OutboxState) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  /** Keeps an entry; throws when it can't be kept. It is sent with the next `flush`. */
  async add(entry: Omit<Waiting, "seq" | "state" | "detail">): Promise<void> {
    await this.#parts.store.add({ ...entry, state: "waiting", detail: null });
    await this.#changed();
  }

  /** Sends what can be sent. Resolves when it was tried; never rejects. */
  flush(): Promise<void> {
    if (this.#stopped) return Promise.resolve();
    this.#runAgain = true;
    this.#running ??= this.#runUntilDone().finally(() => {
      this.#running = null;
    });
    return this.#running;
  }

  /** A refused entry as it is to be sent now, by who puts it right. */
  async sendAgain(key: string, body: object, who: string | null): Promise<void> {
    const entry = this.#state.entries.find((each) => each.key === key);
    if (entry === undefined) return;
    await this.#parts.store.change({ ...entry, body, who, state: "waiting", detail: null });
    await this.#changed();
    await this.flush();
  }

  async throwAway(key: string): Promise<void> {
    await this.#parts.store.remove(key);
    await this.#changed();
    // What waited behind it may go.
    await this.flush();
  }

  stop(): void {
    this.#stopped = true;
    clearTimeout(this.#retry);
    this.#parts.channel?.close();
  }

  async #runUntilDone(): Promise<void> {
    clearTimeout(this.#retry);
    let hindrance: Hindrance = null;
    try {
      while (this.#runAgain && !this.#stopped) {
        this.#runAgain = false;
        hindrance = await this.#asSender();
      }
    } catch {
      // The store failed: what it kept is there still, and is tried again.
      hindrance = "no answer";
    }
    if (this.#stopped) return;
    this.#tell({ hindrance });
    const waits = this.#state.entries.some(({ state }) => state === "waiting");
    if (!waits || hindrance === "sign in" || hindrance === "other person") {
      this.#retryMs = firstRetryMs;
      return;
    }
    this.#retry = setTimeout(() => void this.flush(), this.#retryMs);
    this.#retryMs = Math.min(lastRetryMs, 2 * this.#retryMs);
  }

  async #asSender(): Promise<Hindrance> {
    const { store, wallMs, channel } = this.#parts;
    await this.#look();
    if (!this.#state.entries.some(({ state }) => state === "waiting")) return null;
    if (!(await store.lease(this.#owner, wallMs(), leaseMs))) {
      // Another tab sends, and looks again when it is done.
      channel?.postMessage("send");
      return null;
    }
    try {
      return await this.#sendAll();
    } finally {
      await store.release(this.#owner);
    }
  }

  async #sendAll(): Promise<Hindrance> {
    const { store, send, whoIsSignedIn, wallMs } = this.#parts;
    // Another tab may have sent some of it until a moment ago.
    const entries = await store.all();
    const person = await whoIsSignedIn();
    if (person === "no answer") return "no answer";
    if (person === null) return "sign in";
    const heldBack = new Set<string>();
    let hindrance: Hindrance = null;
    for (const entry of entries) {
      const { about, state, who } = entry;
      if (heldBack.has(about)) continue;
      const isOthers = who !== null && who !== person.name;
      if (state === "refused" || isOthers) {
        if (makesCar(entry)) heldBack.add(about);
        if (state === "waiting") hindrance ??= "other person";
        continue;
      }
      if (this.#stopped || !(await store.lease(this.#owner, wallMs(), leaseMs))) return hindrance;
      const sent = { ...entry, who: person.name };
      // From now on it is theirs, also when the answer gets lost.
      if (who === null) await store.change(sent);
      const answer = await send(sent);
      if (answer.kind === "sign in" || answer.kind === "no answer") return answer.kind;
      if (answer.kind === "failed") {
        heldBack.add(about);
        hindrance = "no answer";
        continue;
      }
      if (answer.kind === "taken") {
        await store.remove(entry.key);
        this.#retryMs = firstRetryMs;
      } else {
        await store.change({ ...sent, state: "refused", detail: answer.detail });
        if (makesCar(entry)) heldBack.add(about);
      }
      await this.#changed();
    }
    return hindrance;
  }

  async #changed(): Promise<void> {
    await this.#look();
    this.#parts.channel?.postMessage("changed");
  }

  async #look(): Promise<void> {
    this.#tell({ entries: await this.#parts.store.all() });
  }

  #tell(part: Partial<OutboxState>): void {
    this.#state = { ...this.#state, ...part };
    for (const listener of this.#listeners) listener(this.#state);
  }
}

const makesCar = ({ method, path }: Waiting): boolean => method === "POST" && path === "/api/cars";
