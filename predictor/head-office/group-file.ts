/** The group file: one YAML file that says all that whoever runs a head office decides. docs/head-office.md explains it. */
import { dirname, resolve } from "node:path";
import { z } from "zod";
import { nameSchema } from "../../collector/readings.ts";
import { languages } from "../../words/words.ts";
import { brokerAddressSchema, timeZoneSchema, unitsSchema } from "../shop-file.ts";
import { storeSchema } from "../shop-store.ts";
import { FileFaults, readYamlFile } from "../yaml-file.ts";

const groupFileSchema = z.strictObject({
  group: nameSchema,
  name: z.string().min(1),
  /** Demo data: every screen says so. */
  invented: z.boolean().default(false),
  language: z.enum(languages).default("en"),
  /** Of the group's own pages; each shop's are by its own. */
  timeZone: timeZoneSchema,
  units: unitsSchema,
  ports: z.strictObject({ http: z.number().int().min(0).max(65535).default(8080) }).prefault({}),
  broker: brokerAddressSchema,
  /** A SQLite file for each shop, or InfluxDB for all. */
  store: storeSchema.prefault({ kind: "sqlite" }),
  /** What others send is refused. */
  shops: z.array(nameSchema).min(1),
});

export type GroupFile = z.infer<typeof groupFileSchema> & {
  /** Folder that relative paths in the file are taken from. */
  folder: string;
};

/** Reads and checks a group file; throws FileFaults with every fault at once. */
export function readGroupFile(file: string): GroupFile {
  const { value, fault } = readYamlFile(file, groupFileSchema);
  const twice = value.shops.flatMap((shop, index) =>
    value.shops.indexOf(shop) === index ? [] : [fault(["shops", index], "each shop once")],
  );
  if (twice.length > 0) throw new FileFaults(file, twice);
  return { ...value, folder: dirname(resolve(file)) };
}
