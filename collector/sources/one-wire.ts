/** Temperature probes on a 1-Wire bus, through the kernel's files (docs/one-wire.md). */
import { realpath } from "node:fs/promises";
import { dirname, join } from "node:path";
import type { OneWireSettings } from "../settings.ts";
import type { ProbeReading } from "./one-wire-text.ts";
import { parseTemperature, parseW1Slave } from "./one-wire-text.ts";
import { readPatiently, unplugged } from "./patient-file.ts";
import type { Answer, Polled } from "./polling.ts";
import { PollingSource } from "./polling.ts";
import type { SourceContext } from "./source.ts";

export class OneWireSource extends PollingSource {
  constructor(settings: OneWireSettings, context: SourceContext) {
    const { probes, folder, everySeconds } = settings;
    const name = `one-wire ${probes.map((probe) => probe.sensor).join(" ")}`;
    super(
      name,
      everySeconds,
      probes.map((probe) => new Probe(probe, folder)),
      context.logger,
    );
  }
}

class Probe implements Polled {
  readonly name: string;
  readonly #probe: OneWireSettings["probes"][number];
  readonly #folder: string;
  /** What was accepted last, while the probe stays plugged in. */
  #beforeC: number | undefined;

  constructor(probe: OneWireSettings["probes"][number], folder: string) {
    this.name = probe.id;
    this.#probe = probe;
    this.#folder = folder;
  }

  async ask(signal: AbortSignal): Promise<Answer> {
    const { sensor, quantity } = this.#probe;
    const { reading, text } = await readProbe(join(this.#folder, this.name), this.#beforeC, signal);
    if ("celsius" in reading) {
      this.#beforeC = reading.celsius;
      return { measurements: [{ sensor, quantity, value: reading.celsius }], faults: [] };
    }
    if (reading.fault === unplugged) this.#beforeC = undefined;
    return { measurements: [], faults: [{ kind: reading.fault, detail: { text: text?.slice(0, 200) } }] };
  }
}

/**
 * Measures with the probe of this folder: `w1_slave`, which has a check, or `temperature` where the kernel has no such
 * file. `beforeC` as in parseW1Slave. Never rejects.
 */
export async function readProbe(
  folder: string,
  beforeC: number | undefined,
  signal: AbortSignal,
): Promise<{ reading: ProbeReading | { fault: string }; text?: string }> {
  // The kernel's folder of a probe lies in that of its bus.
  const bus = await realpath(folder).then(dirname, () => undefined);
  if (bus === undefined) return { reading: { fault: unplugged } };
  const slave = await readPatiently(join(folder, "w1_slave"), bus, signal);
  if ("text" in slave) return { reading: parseW1Slave(slave.text, beforeC), text: slave.text };
  if (slave.fault !== unplugged) return { reading: slave };
  const plain = await readPatiently(join(folder, "temperature"), bus, signal);
  if ("text" in plain) return { reading: parseTemperature(plain.text, beforeC), text: plain.text };
  return { reading: plain };
}
