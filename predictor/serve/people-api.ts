/** The contract over HTTP, people: who is signed in, who there is. */
import { z } from "zod";
import { roles } from "../people/people.ts";

const instant = z.iso.datetime({ offset: true });

/** Who is signed in on this device, and what signing in needs. */
export const roleSchema = z.enum(roles);
export const meSchema = z.object({
  person: z.object({ name: z.string(), role: roleSchema }).nullable(),
  /** False until the first person was made with the set-up link. */
  isSetUp: z.boolean(),
  /** Names to pick from; empty where reading needs signing in and nobody has. */
  people: z.array(z.string()),
  /** The PIN of everyone in the rehearsal shop; null in a real one. */
  rehearsalPin: z.string().nullable(),
});
export type Me = z.infer<typeof meSchema>;
/** Whoever installs gets all of them; anyone else the active ones, and of none whether they are locked out. */
export const peopleSchema = z.object({
  people: z.array(
    z.object({ name: z.string(), role: roleSchema, isActive: z.boolean(), lockedUntil: instant.nullable() }),
  ),
});
export type People = z.infer<typeof peopleSchema>;
