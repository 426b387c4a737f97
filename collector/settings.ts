/** What the shop file says about collectors and their sources; the collector's side of that contract. */
import { z } from "zod";
import { nameSchema, quantityNames } from "./readings.ts";

const quantitySchema = z.enum(quantityNames);

const playbackSchema = z.strictObject({
  kind: z.literal("playback"),
  /** CSV with a header row; a relative path is taken from the shop file's folder. */
  file: z.string().min(1),
  delimiter: z.string().length(1).default(","),
  time: z.strictObject({
    column: z.string().min(1),
    /** `iso`, `unix-seconds`, `unix-milliseconds`, or a pattern of Luxon's format tokens such as `yyyy-MM-dd HH:mm:ss`. */
    format: z.string().min(1),
    /** IANA zone of times that carry no offset; the shop's own when absent. */
    zone: z.string().optional(),
  }),
  columns: z.array(z.strictObject({ column: z.string().min(1), sensor: nameSchema, quantity: quantitySchema })).min(1),
  /** `original`: the file's own instants. `now`: shifted so that its first row falls at the start of playing. */
  instants: z.enum(["original", "now"]).default("original"),
  /** Rows are sent this many times faster than they were recorded; `all` sends them at once. */
  speed: z.union([z.number().positive(), z.literal("all")]).default(1),
});

/** How bytes stand on a serial line. */
const framing = {
  baud: z.number().int().positive().default(9600),
  dataBits: z.union([z.literal(7), z.literal(8)]).default(8),
  parity: z.enum(["none", "even", "odd"]).default("none"),
  stopBits: z.union([z.literal(1), z.literal(2)]).default(1),
};
/** A stable name: /dev/serial/by-id/… */
const serialPath = z.string().startsWith("/", "expected an absolute path such as /dev/serial/by-id/usb-…");

const serialSchema = z.strictObject({
  kind: z.literal("serial"),
  path: serialPath,
  ...framing,
  /** Sensors that the line may name; others are counted and skipped. */
  sensors: z.array(nameSchema).min(1),
  /** Reopen the port when nothing valid came for this long. */
  silenceSeconds: z.number().positive().default(30),
});

const modbusRegisterSchema = z.strictObject({
  sensor: nameSchema,
  quantity: quantitySchema,
  /** As the device's manual prints it; `addressBase` says what the manual counts from. */
  address: z.number().int().min(0).max(65_536),
  type: z.enum(["int16", "uint16", "float32"]).default("int16"),
  /** Of a float32's two registers, which comes first. */
  wordOrder: z.enum(["high-first", "low-first"]).default("high-first"),
  /** Value = scale × number: 0.1 where 263 means 26.3 °C. In the quantity's own unit. */
  scale: z.number().default(1),
});

const modbusDeviceSchema = z
  .strictObject({
    unit: z.number().int().min(1).max(247),
    /** 3 reads holding registers, 4 input registers. */
    functionCode: z.union([z.literal(3), z.literal(4)]).default(4),
    addressBase: z.union([z.literal(0), z.literal(1)]).default(0),
    registers: z.array(modbusRegisterSchema).min(1),
  })
  .refine(
    ({ addressBase, registers }) =>
      registers.every(({ address, type }) => {
        const onWire = address - addressBase;
        return onWire >= 0 && onWire + (type === "float32" ? 1 : 0) <= 65_535;
      }),
    "addresses from addressBase to 65535 registers further",
  );

/** RTU over a serial line where `path` is given, TCP where `host` is. */
const modbusSchema = z
  .strictObject({
    kind: z.literal("modbus"),
    path: serialPath.optional(),
    ...framing,
    host: z.string().min(1).optional(),
    port: z.number().int().min(1).max(65_535).default(502),
    everySeconds: z.number().positive().default(5),
    /** How long one device is waited for. */
    timeoutMs: z.number().int().positive().default(500),
    devices: z
      .array(modbusDeviceSchema)
      .min(1)
      .refine(
        (devices) =>
          new Set(devices.map(({ unit, functionCode }) => `${unit}/${functionCode}`)).size === devices.length,
        "each unit once with each function code: put its registers together",
      ),
  })
  .refine(
    ({ path, host }) => (path === undefined) !== (host === undefined),
    "either path (RTU over a serial line) or host (TCP)",
  );

const oneWireSchema = z.strictObject({
  kind: z.literal("one-wire"),
  everySeconds: z.number().positive().default(10),
  probes: z
    .array(
      z.strictObject({
        /** Family and number as the kernel names it. */
        id: z
          .string()
          .regex(/^[0-9a-f]{2}-[0-9a-f]{12}$/, "expected a probe's id such as 28-0316a2790fff, from --find-sensors"),
        sensor: nameSchema,
        quantity: z.enum(["air-temperature", "panel-temperature"]),
      }),
    )
    .min(1),
  /** Where the kernel shows the probes. */
  folder: z.string().default("/sys/bus/w1/devices"),
});

const kernelSchema = z.strictObject({
  kind: z.literal("kernel"),
  everySeconds: z.number().positive().default(5),
  chips: z
    .array(
      z.strictObject({
        /** As in the kernel's `name` file: bme280, sht3x, sht4x, mlx90614. */
        name: z.string().min(1),
        /** The device's address on its bus, such as 1-0044: needed where two chips share a name. */
        at: z.string().optional(),
        channels: z
          .array(
            z.strictObject({
              sensor: nameSchema,
              quantity: quantitySchema,
              /** File to read; the usual one of the quantity unless set. */
              file: z
                .string()
                .regex(/^[a-z0-9_]+$/, "expected a file name such as temp1_input")
                .optional(),
            }),
          )
          .min(1),
      }),
    )
    .min(1),
  /** Where the kernel shows its devices. */
  folder: z.string().default("/sys"),
});

const rehearsalSchema = z.strictObject({
  kind: z.literal("rehearsal"),
  /** Which invented room's physics to play. */
  room: z.enum(["booth", "prep", "workshop", "yard", "mixing"]),
  sensor: nameSchema,
  everySeconds: z.number().positive().default(5),
  /** Hours of invented past sent at the first start, so that charts are full. */
  pastHours: z
    .number()
    .nonnegative()
    .max(24 * 14)
    .default(26),
  seed: z.number().int().nonnegative().default(1),
});

export const sourceSchema = z.discriminatedUnion("kind", [
  serialSchema,
  modbusSchema,
  oneWireSchema,
  kernelSchema,
  playbackSchema,
  rehearsalSchema,
]);
export type SourceSettings = z.infer<typeof sourceSchema>;
export type PlaybackSettings = z.infer<typeof playbackSchema>;
export type SerialSettings = z.infer<typeof serialSchema>;
export type RehearsalSettings = z.infer<typeof rehearsalSchema>;
export type ModbusSettings = z.infer<typeof modbusSchema>;
export type OneWireSettings = z.infer<typeof oneWireSchema>;
export type KernelSettings = z.infer<typeof kernelSchema>;

/** What an installer knows of one quantity of one sensor: how it reads against a reference, and what can be true of it. */
export const instrumentSchema = z.strictObject({
  /** Corrected value = slope × value read + offset, in the quantity's unit. */
  slope: z.number().positive().default(1),
  offset: z.number().default(0),
  /** When it was compared with a reference, and when it shall be again. */
  calibrated: z.iso.date().optional(),
  due: z.iso.date().optional(),
  /** What it was compared with: the reference instrument and its certificate. */
  reference: z.string().min(1).max(120).optional(),
  /** Corrected values outside are bad; the quantity's own range unless set. */
  lowest: z.number().optional(),
  highest: z.number().optional(),
  /** Units a minute; a faster change is doubtful. See collector/quality.ts for what holds unless set. */
  fastestPerMinute: z.number().positive().optional(),
  /** A value that has not changed at all for this long is bad; `off` for a sensor that reads in coarse steps. */
  stuckMinutes: z.union([z.number().positive(), z.literal("off")]).optional(),
});
export type InstrumentSettings = z.infer<typeof instrumentSchema>;

/** By sensor, then by quantity. */
export const instrumentsSchema = z.record(nameSchema, z.partialRecord(quantitySchema, instrumentSchema));
export type Instruments = z.infer<typeof instrumentsSchema>;

export const collectorSchema = z.strictObject({
  sources: z.array(sourceSchema).min(1),
  instruments: instrumentsSchema.default({}),
});
export type CollectorSettings = z.infer<typeof collectorSchema>;

/** How to reach the broker; the predictor and every collector use the same. */
export interface BrokerAddress {
  url: string;
  /** 5, or 4 for MQTT 3.1.1 (what the embedded broker speaks). */
  protocolVersion: 4 | 5;
  username?: string;
  password?: string;
  /** PEM text of the authority that signed the broker's certificate, where it is not a public one. */
  ca?: string;
}

/** Names of the sensors a source can produce. */
export function sensorsOf(source: SourceSettings): string[] {
  switch (source.kind) {
    case "playback":
      return unique(source.columns.map((column) => column.sensor));
    case "serial":
      return source.sensors;
    case "modbus":
      return unique(source.devices.flatMap((device) => device.registers.map((register) => register.sensor)));
    case "one-wire":
      return unique(source.probes.map((probe) => probe.sensor));
    case "kernel":
      return unique(source.chips.flatMap((chip) => chip.channels.map((channel) => channel.sensor)));
    case "rehearsal":
      return [source.sensor];
  }
}

function unique(names: readonly string[]): string[] {
  return [...new Set(names)];
}
