/** What may be wider than the page, such as a table: it scrolls by itself, by keyboard too. */
import type { ComponentChildren } from "preact";

export function Scroll({ name, children }: { name: string; children: ComponentChildren }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reached by the keyboard (WCAG 2.1.1)
    <section class="desk-scroll" aria-label={name} tabIndex={0}>
      {children}
    </section>
  );
}
