/** Where notices go beside screens and MQTT: the shop file's `notify`. */
import { z } from "zod";
import { urgencies } from "./condition.ts";
import { isThisMachine } from "./this-machine.ts";

const address = z.email({ error: "expected an e-mail address" });

const hostOf = (url: string): string => (URL.canParse(url) ? new URL(url).hostname : "");

function isPlainAddress(url: string): boolean {
  if (!URL.canParse(url)) return false;
  const { username, password } = new URL(url);
  return username === "" && password === "";
}

export const notifySchema = z.strictObject({
  webhook: z
    .strictObject({
      url: z
        .string()
        .regex(/^https?:\/\/\S+$/, "expected an address such as https://bells.example/coatclock")
        // Refused again at each notice, such an address would stand in log and health with what is secret in it.
        .refine(isPlainAddress, "an address without user name and password: a token belongs in headersFile"),
      /** YAML file of header names and values, readable by its owner only: for a token. */
      headersFile: z.string().optional(),
      /** Whoever can listen on the way may read the headers. */
      inTheClear: z.boolean().default(false),
    })
    .refine(
      ({ url, headersFile, inTheClear }) =>
        headersFile === undefined || inTheClear || !url.startsWith("http:") || isThisMachine(hostOf(url)),
      {
        path: ["url"],
        message: "an https:// address where headersFile goes along, or inTheClear: true where the way is your own",
      },
    )
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
