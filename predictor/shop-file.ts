/** The shop file: one YAML file that says all an installer decides. docs/shop-file.md and docs/examples/ explain it. */
import { readFileSync } from "node:fs";
import { dirname, resolve } from "node:path";
import { IANAZone } from "luxon";
import { z } from "zod";
import { nameSchema } from "../collector/readings.ts";
import { type BrokerAddress, instrumentsSchema, sensorsOf, sourceSchema } from "../collector/settings.ts";
import { lampsSchema } from "../lamp/settings.ts";
import { languages } from "../words/words.ts";
import { energySchema } from "./plan/energy.ts";
import { credentialsSchema, readSecret } from "./secret-file.ts";
import { hoursSchema, timeOfDaySchema } from "./shop-hours.ts";
import { firstOfKind, placeKinds, placeSchema } from "./shop-places.ts";
import { siteSchema } from "./shop-site.ts";
import { storeSchema } from "./shop-store.ts";
import { type NotifySecrets, notifySchema } from "./warnings/notify-settings.ts";
import { type FileFault, FileFaults, readYamlFile, type YamlFile } from "./yaml-file.ts";

export { heatingHours, type PlaceSettings } from "./shop-places.ts";

/** Longer than most coats take to full cure in a heated shop, and than the program looks back by single readings. Assumed. */
const keepRawDaysAtLeast = 7;

const port = z.number().int().min(0).max(65535);

const collectorEntrySchema = z
  .strictObject({
    /** True for a collector that runs on another machine: this one does not start it. */
    elsewhere: z.boolean().default(false),
    sources: z.array(sourceSchema).default([]),
    /** Sensors of a collector that is not ours to start, such as a device with firmware of its own. */
    sensors: z.array(nameSchema).default([]),
    /** How its sensors read against a reference, and what can be true of them. */
    instruments: instrumentsSchema.default({}),
  })
  .refine((entry) => entry.sources.length + entry.sensors.length > 0, "at least one source, or the sensors it sends");

const embeddedSchema = z
  .strictObject({
    kind: z.literal("embedded"),
    port: port.default(1883),
    /** To the network it asks for a name and password, see docs/broker.md; on this machine it asks nobody. */
    listen: z.enum(["this-machine", "network"]).default("this-machine"),
    /** PEM files of the broker's certificate and its key: readings then travel by TLS. */
    certFile: z.string().optional(),
    keyFile: z.string().optional(),
    /** Take another free port when this one is taken, and say which. */
    anyPortIfTaken: z.boolean().default(false),
  })
  .refine(
    ({ certFile, keyFile }) => (certFile === undefined) === (keyFile === undefined),
    "certFile and keyFile, or neither",
  );

/** A broker that is not ours to start. */
export const brokerAddressSchema = z.strictObject({
  kind: z.literal("address"),
  url: z
    .string()
    .regex(/^(mqtts?|wss?):\/\/./, "expected an address such as mqtts://broker.local:8883")
    .refine((url) => !url.includes("@"), "an address without user name and password: they belong in credentialsFile"),
  protocol: z.enum(["5", "3.1.1"]).default("5"),
  /** YAML file with username and password, readable by its owner only. */
  credentialsFile: z.string().optional(),
  /** PEM file of the authority that signed the broker's certificate. */
  caFile: z.string().optional(),
});

const brokerSchema = z.discriminatedUnion("kind", [embeddedSchema, brokerAddressSchema]);
export type BrokerSettings = z.infer<typeof brokerSchema>;
export type EmbeddedSettings = Extract<BrokerSettings, { kind: "embedded" }>;

/** This machine's when absent. */
export const timeZoneSchema = z
  .string()
  .refine((zone) => IANAZone.isValidZone(zone), "an IANA time zone such as Europe/Berlin")
  .default(() => Intl.DateTimeFormat().resolvedOptions().timeZone);

export const unitsSchema = z
  .strictObject({ temperature: z.enum(["C", "F"]).default("C"), clock: z.enum(["24h", "12h"]).default("24h") })
  .prefault({});

export const shopFileSchema = z.strictObject({
  shop: nameSchema,
  name: z.string().min(1),
  /** Demo data: every screen says so. */
  invented: z.boolean().default(false),
  timeZone: timeZoneSchema,
  /** What walls, messages and mails speak; a phone may choose another. */
  language: z.enum(languages).default("en"),
  units: unitsSchema,
  dim: z.strictObject({ from: timeOfDaySchema, to: timeOfDaySchema }).optional(),
  /** Where phones on the shop's network find the pages, for QR codes; this machine's name and port when absent. */
  address: z
    .string()
    .regex(/^https?:\/\/[^/\s]+$/, "expected an address such as http://coatclock.local:8080")
    .optional(),
  ports: z.strictObject({ http: port.default(8080) }).prefault({}),
  broker: brokerSchema.prefault({ kind: "embedded" }),
  /** Who may read on the shop's network: anyone, or those signed in. The walls read without in either case. */
  reading: z.enum(["open", "signed-in"]).default("open"),
  store: storeSchema.prefault({ kind: "sqlite" }),
  /** For how many days single readings are kept; after them, five-minute minima, means and maxima. For ever when absent. */
  readings: z.strictObject({ keepRawDays: z.number().int().min(keepRawDaysAtLeast).optional() }).prefault({}),
  places: z.record(nameSchema, placeSchema).refine((places) => Object.keys(places).length > 0, "at least one place"),
  collectors: z.record(nameSchema, collectorEntrySchema),
  /** The clocks of all machines here are set by hand or by a battery-backed clock, and are believed though no time service vouches for them. */
  trustClock: z.boolean().default(false),
  /** Lamps and buzzers that show readiness and warnings. */
  lamps: lampsSchema.default({}),
  /** Files of sheets beside the invented library; a relative path is taken from this file's folder. */
  sheetFiles: z.array(z.string()).default([]),
  /** When people work here; at any hour when absent. */
  workday: hoursSchema.optional(),
  learning: z
    .strictObject({
      /** Ids of sheets whose times the shop's own checks do not move. */
      off: z.array(z.string()).default([]),
      /** Ids of sheets for which the quality lead has allowed that learning makes 'safe' earlier than the sheet's own minimum time. */
      earlierThanSheet: z.array(z.string()).default([]),
    })
    .prefault({}),
  /** The place whose temperature runs the pot life; the first of kind mixing when absent. */
  mixingPlace: z.string().optional(),
  /** The place whose temperature is the outdoor one; the first of kind yard when absent. */
  outdoorPlace: z.string().optional(),
  /** Who may hold a copy of what this shop records: readings, log and book of coats go to this broker. See docs/head-office.md. */
  headOffice: z.strictObject({ broker: brokerAddressSchema }).optional(),
  /** Where notices go beside screens and MQTT: a webhook, mails. */
  notify: notifySchema.optional(),
  /** What was measured or decided here: how paint goes, and how long extraction must run. */
  site: siteSchema.prefault({}),
  /** What heat and power cost, and the air that is moved; without it plans are shown without energy. */
  energy: energySchema.optional(),
});

export type ShopFile = z.infer<typeof shopFileSchema> & {
  /** Folder that relative paths in the file are taken from. */
  folder: string;
};

/** Reads and checks a shop file; throws FileFaults with every fault at once. */
export function readShopFile(file: string): ShopFile {
  const read = readYamlFile(file, shopFileSchema);
  const { value } = read;
  const faults = [...sensorFaults(read), ...placeFaults(read), ...headOfficeFaults(read)];
  if (faults.length > 0) throw new FileFaults(file, faults);
  return {
    ...value,
    places: byNameOnly(value.places),
    collectors: byNameOnly(value.collectors),
    mixingPlace: value.mixingPlace ?? firstOfKind(value.places, "mixing"),
    outdoorPlace: value.outdoorPlace ?? firstOfKind(value.places, "yard"),
    folder: dirname(resolve(file)),
  };
}

/** Sensors that two sources share a name of, and those that a place names and no collector has. */
function sensorFaults({ value, fault }: YamlFile<z.infer<typeof shopFileSchema>>): FileFault[] {
  const faults: FileFault[] = [];
  const known = new Map<string, Set<string>>();
  for (const [collector, entry] of Object.entries(value.collectors)) {
    const sensors = new Set(entry.sensors);
    for (const [index, source] of entry.sources.entries()) {
      for (const sensor of sensorsOf(source)) {
        if (sensors.has(sensor)) {
          faults.push(
            fault(["collectors", collector, "sources", index], "a sensor name no other source here has", sensor),
          );
        }
        sensors.add(sensor);
      }
    }
    for (const sensor of Object.keys(entry.instruments)) {
      if (sensors.has(sensor)) continue;
      faults.push(
        fault(
          ["collectors", collector, "instruments", sensor],
          `a sensor of this collector (${[...sensors].join(", ")})`,
        ),
      );
    }
    known.set(collector, sensors);
  }
  for (const [place, { sensors, compare }] of Object.entries(value.places)) {
    const named = [
      ...Object.entries(sensors).map(([quantity, reference]) => ({ key: "sensors", quantity, reference })),
      ...Object.entries(compare ?? {}).map(([quantity, reference]) => ({ key: "compare", quantity, reference })),
    ];
    for (const { key, quantity, reference } of named) {
      const [collector = "", sensor = ""] = reference?.split("/") ?? [];
      if (known.get(collector)?.has(sensor)) continue;
      const choices = [...known].flatMap(([name, names]) => [...names].map((each) => `${name}/${each}`));
      faults.push(
        fault(
          ["places", place, key, quantity],
          `a sensor of a collector below (${choices.join(", ") || "none named"})`,
        ),
      );
    }
  }
  return faults;
}

/** What waits for the head office is written where the readings are: by one transaction. */
function headOfficeFaults({ value, fault }: YamlFile<z.infer<typeof shopFileSchema>>): FileFault[] {
  if (value.headOffice === undefined || value.store.kind === "sqlite") return [];
  return [fault(["store", "kind"], "sqlite where headOffice is set: the head office may keep its own in InfluxDB")];
}

/** Places that other keys name and that there are not. */
function placeFaults({ value, fault }: YamlFile<z.infer<typeof shopFileSchema>>): FileFault[] {
  const places = Object.keys(value.places);
  const named = (["mixingPlace", "outdoorPlace"] as const).filter((key) => {
    const place = value[key];
    return place !== undefined && !places.includes(place);
  });
  const airHandled = Object.keys(value.energy?.airHandling ?? {});
  const unknown = airHandled.filter((key) => ![...places, ...placeKinds].includes(key));
  const lit = Object.entries(value.lamps).flatMap(([lamp, { outputs }]) =>
    outputs.flatMap(({ when }, index) =>
      "place" in when && when.place !== undefined && !places.includes(when.place)
        ? [fault(["lamps", lamp, "outputs", index, "when", "place"], `a place of this file (${places.join(", ")})`)]
        : [],
    ),
  );
  return [
    ...lit,
    ...named.map((key) => fault([key], `a place of this file (${places.join(", ")})`)),
    ...unknown.map((key) =>
      fault(
        ["energy", "airHandling", key],
        `a place of this file (${places.join(", ")}) or a kind (${placeKinds.join(", ")})`,
        `"${key}"`,
      ),
    ),
  ];
}

/** Every sheet that the shop file names, with the key that names it. Whether there is such a sheet is known where the sheets are. */
export function sheetsNamed({
  places,
  learning,
}: Pick<ShopFile, "places" | "learning">): { path: string; id: string }[] {
  const at = (path: string, ids: readonly string[]) => ids.map((id) => ({ path, id }));
  return [
    ...Object.entries(places).flatMap(([place, { sheets = [] }]) => at(`places.${place}.sheets`, sheets)),
    ...at("learning.off", learning.off),
    ...at("learning.earlierThanSheet", learning.earlierThanSheet),
  ];
}

/** Without what objects inherit: a place asked for as "constructor" is not there. */
function byNameOnly<T>(entries: Record<string, T>): Record<string, T> {
  return Object.assign(Object.create(null) as Record<string, T>, entries);
}

/** Where to find the broker: reads the credentials and certificate files that the settings name. */
export function brokerAddress(settings: BrokerSettings, embeddedPort: number, folder: string): BrokerAddress {
  if (settings.kind === "embedded") return { url: `mqtt://127.0.0.1:${embeddedPort}`, protocolVersion: 4 };
  const address: BrokerAddress = { url: settings.url, protocolVersion: settings.protocol === "5" ? 5 : 4 };
  if (settings.credentialsFile !== undefined) {
    Object.assign(address, readSecret(resolve(folder, settings.credentialsFile), credentialsSchema));
  }
  if (settings.caFile !== undefined) address.ca = readFileSync(resolve(folder, settings.caFile), "utf8");
  return address;
}

/** What the files hold that the settings of `notify` name. */
export function notifySecrets({ notify, folder }: Pick<ShopFile, "notify" | "folder">): NotifySecrets {
  const headersFile = notify?.webhook?.headersFile;
  const credentialsFile = notify?.email?.credentialsFile;
  return {
    ...(headersFile === undefined
      ? {}
      : { headers: readSecret(resolve(folder, headersFile), z.record(z.string(), z.string())) }),
    ...(credentialsFile === undefined
      ? {}
      : { credentials: readSecret(resolve(folder, credentialsFile), credentialsSchema) }),
  };
}
