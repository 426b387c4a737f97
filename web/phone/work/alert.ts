/** Sound and vibration for who asked for them on this phone. */
import type { Notice } from "../../../predictor/serve/api.ts";

const settingKey = "coatclock.notices";

export function isAlertOn(): boolean {
  return localStorage.getItem(settingKey) === "on";
}

export function setAlert(on: boolean): void {
  localStorage.setItem(settingKey, on ? "on" : "off");
}

/** Two rising tones for what is good, falling ones for what presses; in Hz, and how long each in seconds. */
const tones: Record<Notice["urgency"], readonly number[]> = {
  now: [880, 660, 880, 660],
  soon: [660, 880],
  today: [520, 660],
};
const toneSeconds = 0.18;
const vibrations: Record<Notice["urgency"], number[]> = {
  now: [300, 120, 300, 120, 600],
  soon: [250, 120, 250],
  today: [200],
};

let audio: AudioContext | null = null;

/** Sounds and shakes once. A browser that allows neither, as before the first tap on the page, stays silent. */
export function alertOnce(urgency: Notice["urgency"]): void {
  // Not everywhere, whatever the types say.
  (navigator as { vibrate?: (pattern: number[]) => boolean }).vibrate?.(vibrations[urgency]);
  if (typeof AudioContext === "undefined") return;
  audio ??= new AudioContext();
  const { currentTime, destination } = audio;
  const volume = audio.createGain();
  volume.gain.value = 0.3;
  volume.connect(destination);
  for (const [index, hertz] of tones[urgency].entries()) {
    const tone = audio.createOscillator();
    tone.frequency.value = hertz;
    tone.connect(volume);
    tone.start(currentTime + index * toneSeconds);
    tone.stop(currentTime + (index + 0.85) * toneSeconds);
  }
  audio.resume().catch(() => undefined);
}
