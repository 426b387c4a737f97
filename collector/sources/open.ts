import type { SourceSettings } from "../settings.ts";
import { PlaybackSource } from "./playback.ts";
import { RehearsalSource } from "./rehearsal.ts";
import { SerialSource } from "./serial.ts";
import type { Source, SourceContext } from "./source.ts";

/** The source that the settings describe, not started yet. */
export function openSource(settings: SourceSettings, context: SourceContext): Source {
  switch (settings.kind) {
    case "playback":
      return new PlaybackSource(settings, context);
    case "serial":
      return new SerialSource(settings, context);
    case "rehearsal":
      return new RehearsalSource(settings, context);
  }
}
