/** A predictor, and a browser's tabs, for the tests of the outbox beside this file. */
import { type Answer, Outbox } from "./outbox.ts";
import { type OutboxStore, openOutboxStore, type Waiting } from "./outbox-store.ts";

/** A predictor with a session, which records each key once. */
export class FakePredictor {
  session: string | null = "Painter A";
  /** Labels in the order of recording, with who. */
  records: string[] = [];
  readonly #known = new Set<string>();
  /** Before the answer of a request: null lets it be taken. */
  answers: (entry: Waiting) => Answer | null = () => null;
  requests = 0;
  /** Loses the answer after the entry was recorded. */
  losesAnswers = false;
  isReachable = true;

  whoIsSignedIn = async () => {
    if (!this.isReachable) return "no answer" as const;
    return this.session === null ? null : { name: this.session };
  };
  send = async (entry: Waiting): Promise<Answer> => {
    this.requests += 1;
    if (!this.isReachable) return { kind: "no answer" };
    if (this.session === null) return { kind: "sign in" };
    const answer = this.answers(entry);
    if (answer !== null) return answer;
    if (!this.#known.has(entry.key)) {
      this.#known.add(entry.key);
      this.records.push(`${entry.label} by ${this.session}`);
    }
    return this.losesAnswers ? { kind: "no answer" } : { kind: "taken" };
  };
}

let ids = 0;

/** Tabs of one browser: each has its own connection to the same database. */
export class FakeBrowser {
  readonly predictor = new FakePredictor();
  /** The device's clock. */
  wallMs = 1_000_000;
  readonly #database = newName();
  readonly #started: { stop(): void }[] = [];

  async openStore(): Promise<OutboxStore> {
    const store = await openOutboxStore(this.#database);
    this.#started.push({ stop: () => store.close() });
    return store;
  }
  async tab(store?: OutboxStore): Promise<Outbox> {
    const { send, whoIsSignedIn } = this.predictor;
    const outbox = new Outbox({
      store: store ?? (await this.openStore()),
      send,
      whoIsSignedIn,
      wallMs: () => this.wallMs,
      channel: null,
      newId: newName,
    });
    this.#started.push(outbox);
    return outbox;
  }
  close(): void {
    for (const each of this.#started) each.stop();
  }
}

function newName(): string {
  ids += 1;
  return `name-${ids}`;
}

export function entry(label: string, part: Partial<Waiting> = {}) {
  const path = "/api/cars/1/moves";
  return {
    key: newName(),
    method: "POST" as const,
    path,
    body: {},
    label,
    about: "cars/1",
    who: "Painter A",
    madeAtMs: 0,
    page: "/cars/1",
    ...part,
  };
}

/** Makes a car. */
export const newCar = (label: string, id: string) =>
  entry(label, { path: "/api/cars", about: `cars/${id}`, body: { id } });

export const labels = (outbox: Outbox): string[] => outbox.state.entries.map(({ label }) => label);
