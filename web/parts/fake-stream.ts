/** A stream that the tests beside this file drive by hand. */
import type { StreamLike } from "./live-stream.ts";

export class FakeStream implements StreamLike {
  readyState = 0;
  closed = false;
  onopen: ((event: Event) => void) | null = null;
  onerror: ((event: Event) => void) | null = null;
  readonly #listeners = new Map<string, (event: MessageEvent<string>) => void>();

  addEventListener(type: string, listener: (event: MessageEvent<string>) => void): void {
    this.#listeners.set(type, listener);
  }
  close(): void {
    this.closed = true;
    this.readyState = 2;
  }
  opens(): void {
    this.readyState = 1;
    this.onopen?.(new Event("open"));
  }
  /** `final`: the browser will not try again by itself. */
  fails(final: boolean): void {
    this.readyState = final ? 2 : 0;
    this.onerror?.(new Event("error"));
  }
  says(type: string, text: string): void {
    this.#listeners.get(type)?.(new MessageEvent(type, { data: text }));
  }
}
