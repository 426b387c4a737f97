/** Where notices go beside screens and MQTT: the shop file's `notify`. */
import { z } from "zod";
import { urgencies } from "./condition.ts";

const address = z.email({ error: "expected an e-mail address" });

export const notifySchema = z.strictObject({
  webhook: z
    .strictObject({
      url: z.string().regex(/^https?:\/\/\S+$/, "expected an address such as https://bells.example/coatclock"),
      /** YAML file of header names and values, readable by its owner only: for a token. */
      headersFile: z.string().optional(),
    })
    .optional(),
  email: z
    .strictObject({
      host: z.string().min(1),
      port: z.number().int().min(1).max(65535).default(587),
      /** TLS from the first byte (port 465); without it STARTTLS is used where the server offers it. */
      secure: z.boolean().default(false),
      from: address,
      to: z.array(address).min(1).max(20),
      /** YAML file with username and password, readable by its owner only. */
      credentialsFile: z.string().optional(),
    })
    .optional(),
  /** Only what is as urgent as these. */
  urgencies: z
    .array(z.enum(urgencies))
    .min(1)
    .default(() => [...urgencies]),
});
export type NotifySettings = z.infer<typeof notifySchema>;

/** From the files that the settings name. */
export interface NotifySecrets {
  headers?: Record<string, string>;
  credentials?: { username: string; password: string };
}
