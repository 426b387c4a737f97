/** The predictor's clock as the page knows it, so that a kiosk whose own clock is wrong still shows right ages. */
export interface ServerNow {
  /** Notes an instant the server just said was now; text that is no instant is passed over. */
  learn(iso: string): void;
  /** UTC milliseconds by the server; by this machine's clock until the server has said something. */
  nowMs(): number;
}

/** `monotonicMs` never jumps (performance.now); `wallMs` is only asked before the server has spoken. */
export function serverNow(monotonicMs: () => number, wallMs: () => number): ServerNow {
  let aheadMs: number | null = null;
  return {
    learn(iso) {
      const saidMs = Date.parse(iso);
      if (Number.isFinite(saidMs)) aheadMs = saidMs - monotonicMs();
    },
    nowMs: () => (aheadMs === null ? wallMs() : monotonicMs() + aheadMs),
  };
}
