/** Tells the shop's time over MQTT: to collectors that cannot believe their own clock, and as a sign of life to lamps. */
import { type ClockState, isBelieved, type TimeSignal } from "../../collector/readings.ts";
import type { BrokerLink } from "./link.ts";

const everyMs = 5_000;

/** Starts it; the function returned stops it. */
export function startTimeSignal(parts: {
  link: Pick<BrokerLink, "say">;
  topic: string;
  now: () => number;
  clockState: () => ClockState;
}): () => void {
  const tell = () => {
    const time: TimeSignal = { at: new Date(parts.now()).toISOString(), believed: isBelieved(parts.clockState()) };
    parts.link.say(parts.topic, time);
  };
  const timer = setInterval(tell, everyMs);
  return () => clearInterval(timer);
}
