import type { SourceSettings } from "../settings.ts";
import { KernelSource } from "./kernel.ts";
import { ModbusSource } from "./modbus.ts";
import { OneWireSource } from "./one-wire.ts";
import { PlaybackSource } from "./playback.ts";
import { RehearsalSource } from "./rehearsal.ts";
import { SerialSource } from "./serial.ts";
import type { Source, SourceContext } from "./source.ts";

/** The source that the settings describe, not started yet. */
export function openSource(settings: SourceSettings, context: SourceContext): Source {
  switch (settings.kind) {
    case "modbus":
      return new ModbusSource(settings, context);
    case "one-wire":
      return new OneWireSource(settings, context);
    case "kernel":
      return new KernelSource(settings, context);
    case "playback":
      return new PlaybackSource(settings, context);
    case "serial":
      return new SerialSource(settings, context);
    case "rehearsal":
      return new RehearsalSource(settings, context);
  }
}
