import type { SourceSettings } from "../settings.ts";
import { KernelSource } from "./kernel.ts";
import { OneWireSource } from "./one-wire.ts";
import { PlaybackSource } from "./playback.ts";
import { RehearsalSource } from "./rehearsal.ts";
import type { Source, SourceContext } from "./source.ts";

/** The source that the settings describe, not started yet. What drives a serial port takes long to load, and many shops have none. */
export async function openSource(settings: SourceSettings, context: SourceContext): Promise<Source> {
  switch (settings.kind) {
    case "modbus":
      return new (await import("./modbus.ts")).ModbusSource(settings, context);
    case "one-wire":
      return new OneWireSource(settings, context);
    case "kernel":
      return new KernelSource(settings, context);
    case "playback":
      return new PlaybackSource(settings, context);
    case "serial":
      return new (await import("./serial.ts")).SerialSource(settings, context);
    case "rehearsal":
      return new RehearsalSource(settings, context);
  }
}
