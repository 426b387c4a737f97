/** Drafts outlive a reload, a fault and the way to the sign-in page and back: this tab's storage holds them. */
import { emptyDraft, type SheetDraft, type Typed } from "./draft.ts";

/** `id` null for a sheet that is new. */
const keyOf = (id: string | null) => `coatclock.sheet-draft.${id ?? ""}`;

export function keptDraft(id: string | null, typed: Typed): SheetDraft | null {
  try {
    const text = sessionStorage.getItem(keyOf(id));
    if (text === null) return null;
    return { ...emptyDraft(typed), ...(JSON.parse(text) as Partial<SheetDraft>) };
  } catch {
    return null;
  }
}

/** Null forgets it. */
export function keepDraft(id: string | null, draft: SheetDraft | null): void {
  try {
    if (draft === null) sessionStorage.removeItem(keyOf(id));
    else sessionStorage.setItem(keyOf(id), JSON.stringify(draft));
  } catch {
    // It holds until the page is left.
  }
}
