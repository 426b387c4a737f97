/** Files that hold a secret: nobody else on this machine may read them. */
import { statSync } from "node:fs";
import { z } from "zod";
import { readYamlFile } from "./yaml-file.ts";

export const credentialsSchema = z.strictObject({ username: z.string().min(1), password: z.string().min(1) });

/** Throws where others may read it. */
export function readSecret<T>(file: string, schema: z.ZodType<T>): T {
  const { value } = readYamlFile(file, schema);
  if ((statSync(file).mode & 0o077) !== 0) {
    throw new Error(`${file} holds a secret and others may read it. Run: chmod 600 ${file}`);
  }
  return value;
}
