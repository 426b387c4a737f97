/** The page at an address, of those there are. */
import type { ComponentChildren } from "preact";
import { matched } from "../parts/router.ts";

export type PageOf = readonly [pattern: string, page: (params: Readonly<Record<string, string>>) => ComponentChildren];

/** The first that fits counts; null where none does. */
export function pageAt(pages: readonly PageOf[], path: string): ComponentChildren | null {
  for (const [pattern, page] of pages) {
    const params = matched(pattern, path);
    if (params !== null) return page(params);
  }
  return null;
}
