/** That people were added and changed. They themselves are kept elsewhere, with their PINs; the log tells what happened, and no table does. */
import type { Appliers } from "./apply.ts";
import type { What } from "./entry-kinds.ts";

export type PersonEvent =
  | { event: "added"; name: string; role: string }
  /** What was changed, in words; never a PIN. */
  | { event: "changed"; name: string; change: string };

type PersonKind = "person-added" | "person-changed";

export const personAppliers: Appliers<PersonKind> = {
  "person-added": () => undefined,
  "person-changed": () => undefined,
};

/** What is entered of it: the fields that are named here and no others. */
export function personHappening(event: PersonEvent): { [K in PersonKind]: { kind: K; what: What<K> } }[PersonKind] {
  const { name } = event;
  return event.event === "added"
    ? { kind: "person-added", what: { name, role: event.role } }
    : { kind: "person-changed", what: { name, change: event.change } };
}
