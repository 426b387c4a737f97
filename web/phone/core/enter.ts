/** What is entered on this phone: kept first, then sent; the same key each time, so that it is recorded once. */

import { deviceClock, spokenWords } from "../../parts/device-memory.ts";
import { newId } from "../../parts/new-id.ts";
import { Outbox, type OutboxState } from "./outbox.ts";
import { type OutboxStore, openOutboxStore } from "./outbox-store.ts";
import { aboutOf, sendEntry, whoIsSignedIn } from "./send-entry.ts";

export interface Entry {
  method: "POST" | "PATCH";
  path: string;
  /** Carries its own instants, so that it may be sent later. */
  body: object;
  /** What it says while it waits. */
  label: string;
}

/** What became of an entry within a few seconds; with its key its later fate can be followed. */
export type Entered =
  | { state: "sent" }
  | { state: "waiting"; key?: string }
  | { state: "refused"; detail: string; key?: string }
  | { state: "sign in"; key?: string };

/** Who enters is told by then; the sending goes on. */
const tellWithinMs = 3_000;

/** What the page that stands knows of whoever enters. */
export interface EnterContext {
  /** Who is signed in, as far as this phone knows. */
  who(): string | null;
  carOfCoat(coat: string): string | null;
  /** Asked for after an entry that waits for someone to sign in, when whoever entered it has heard so. */
  signIn(): void;
}

let context: EnterContext = { who: () => null, carOfCoat: () => null, signIn: () => undefined };

export function enterFor(given: EnterContext): void {
  context = given;
}

export interface PhoneOutbox {
  outbox: Outbox;
  store: OutboxStore;
}

let opened: Promise<PhoneOutbox> | undefined;

/** The outbox of this page, opened once. */
export function phoneOutbox(): Promise<PhoneOutbox> {
  opened ??= openOutboxStore().then((store) => {
    const channel = typeof BroadcastChannel === "undefined" ? null : new BroadcastChannel("coatclock.outbox");
    const outbox = new Outbox({ store, send: sendEntry, whoIsSignedIn, wallMs: Date.now, channel, newId });
    return { outbox, store };
  });
  return opened;
}

/** Keeps an entry on the phone, sends it, and says what became of it; never rejects. */
export async function enter({ method, path, body, label }: Entry): Promise<Entered> {
  const { outbox } = await phoneOutbox();
  const key = newId();
  const about = aboutOf(path, body, context.carOfCoat);
  const page = location.pathname + location.search;
  const entry = { key, method, path, body, label, about, who: context.who(), madeAtMs: deviceClock.nowMs(), page };
  try {
    await outbox.add(entry);
  } catch {
    return await sentUnkept({ ...entry, seq: 0, state: "waiting", detail: null });
  }
  const entered = await fateOf(outbox, key);
  // Whoever entered it may lead to another page first: that is where they come back to.
  if (entered.state === "sign in") setTimeout(() => context.signIn());
  return entered;
}

/** The phone is full: it is sent at once or not at all, and that is said. */
async function sentUnkept(entry: Parameters<typeof sendEntry>[0]): Promise<Entered> {
  const answer = await sendEntry(entry);
  if (answer.kind === "taken") return { state: "sent" };
  return { state: "refused", detail: answer.kind === "refused" ? answer.detail : spokenWords().t("queue.not-kept") };
}

async function fateOf(outbox: Outbox, key: string): Promise<Entered> {
  const waited = new Promise<void>((done) => setTimeout(done, tellWithinMs));
  await Promise.race([outbox.flush(), waited]);
  return fateIn(outbox.state, key) ?? { state: "sent" };
}

/** Null when it is on the phone no more. */
export function fateIn({ entries, hindrance }: OutboxState, key: string): Exclude<Entered, { state: "sent" }> | null {
  const entry = entries.find((each) => each.key === key);
  if (entry === undefined) return null;
  if (entry.state === "refused") return { state: "refused", detail: entry.detail ?? "", key };
  return { state: hindrance === "sign in" ? "sign in" : "waiting", key };
}
