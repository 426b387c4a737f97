/** Sensor chips that have a driver in the kernel: industrial I/O and hardware monitoring (docs/kernel-sensors.md). */
import { join } from "node:path";
import type { Quantity } from "../readings.ts";
import type { KernelSettings } from "../settings.ts";
import { sensorsOf } from "../settings.ts";
import type { KernelChip } from "./kernel-chips.ts";
import { filesIn, findChips, nameIn } from "./kernel-chips.ts";
import { besideRaw, fileFor, inOwnUnit, kernelNumber, rightOffset, usualFiles } from "./kernel-text.ts";
import { readPatiently, unplugged } from "./patient-file.ts";
import type { Answer, Fault, Polled } from "./polling.ts";
import { PollingSource } from "./polling.ts";
import type { SourceContext } from "./source.ts";

type ChipSettings = KernelSettings["chips"][number];
type ChannelSettings = ChipSettings["channels"][number];

export class KernelSource extends PollingSource {
  constructor(settings: KernelSettings, context: SourceContext) {
    const { chips, folder, everySeconds } = settings;
    const polled = chips.map((chip) => new Chip(chip, folder));
    super(`kernel ${sensorsOf(settings).join(" ")}`, everySeconds, polled, context.logger);
  }
}

class Chip implements Polled {
  readonly name: string;
  readonly #chip: ChipSettings;
  readonly #sysFolder: string;
  #found: KernelChip | undefined;

  constructor(chip: ChipSettings, sysFolder: string) {
    this.name = chip.at === undefined ? chip.name : `${chip.name} at ${chip.at}`;
    this.#chip = chip;
    this.#sysFolder = sysFolder;
  }

  async ask(signal: AbortSignal): Promise<Answer> {
    const answer: Answer = { measurements: [], faults: [] };
    const chip = await this.#find();
    if ("kind" in chip) return { ...answer, faults: [chip] };
    const has = await filesIn(chip.folder);
    for (const channel of this.#chip.channels) {
      const value = await readChannel(chip, channel, has, signal);
      const { sensor, quantity } = channel;
      if ("kind" in value) answer.faults.push(value);
      else answer.measurements.push({ sensor, quantity, value: value.value });
    }
    return answer;
  }

  /** The chip where it was before, as long as a chip of this name is there; else it is looked for anew. */
  async #find(): Promise<KernelChip | Fault> {
    const { name, at } = this.#chip;
    if (this.#found !== undefined && (await nameIn(this.#found.folder)) === name) return this.#found;
    this.#found = undefined;
    const named = (await findChips(this.#sysFolder)).filter((chip) => chip.name === name);
    const places = [...new Set(named.map((chip) => chip.at))];
    if (at === undefined && places.length > 1) {
      return { kind: "several of the name", words: `several of the name, set at to one of ${places.join(", ")}` };
    }
    this.#found = named.find((chip) => at === undefined || chip.at === at);
    if (this.#found !== undefined) return this.#found;
    return { kind: unplugged, words: places.length === 0 ? "not there" : `not there, but at ${places.join(", ")}` };
  }
}

type Channel = Pick<ChannelSettings, "quantity" | "file">;

/** Reads one quantity of a chip, in the quantity's own unit. `has`: the files in the chip's folder. Never rejects. */
export async function readChannel(
  chip: KernelChip,
  channel: Channel,
  has: ReadonlySet<string>,
  signal: AbortSignal,
): Promise<{ value: number } | Fault> {
  const { quantity } = channel;
  const file = fileFor(quantity, channel.file, has);
  if (file === undefined) return { kind: "no such file", words: missing(quantity, channel.file) };
  const read = (name: string) => readNumber(chip, name, quantity, signal);
  const raw = await read(file);
  if ("kind" in raw) return raw;
  if (!(file.startsWith("in_") && file.endsWith("_raw"))) return { value: inOwnUnit(quantity, raw.number) };

  const [scaleFile, offsetFile] = [besideRaw(file, "scale", has), besideRaw(file, "offset", has)];
  if (scaleFile === undefined) return { kind: "no scale", words: `${quantity}: no scale beside ${file}` };
  const scale = await read(scaleFile);
  const offset = offsetFile === undefined ? { number: 0 } : await read(offsetFile);
  if ("kind" in scale) return scale;
  if ("kind" in offset) return offset;
  return { value: inOwnUnit(quantity, (raw.number + rightOffset(chip.name, offset.number)) * scale.number) };
}

async function readNumber(
  chip: KernelChip,
  file: string,
  quantity: Quantity,
  signal: AbortSignal,
): Promise<{ number: number } | Fault> {
  const read = await readPatiently(join(chip.folder, file), chip.bus, signal);
  const number = "text" in read ? kernelNumber(read.text) : read;
  if ("number" in number) return number;
  const detail = { file, ...("text" in read ? { text: read.text.slice(0, 200) } : {}) };
  return { kind: number.fault, words: `${quantity} ${number.fault}`, detail };
}

function missing(quantity: Quantity, named: string | undefined): string {
  if (named !== undefined) return `${quantity}: no file ${named}`;
  const usual = usualFiles[quantity];
  return usual.length === 0 ? `${quantity}: its file must be named` : `${quantity}: none of ${usual.join(", ")}`;
}
