/** A table that scrolls sideways where there is too little room, by keyboard too. */
import type { ComponentChildren } from "preact";

export function WideTable({ name, children }: { name: string; children: ComponentChildren }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reached without a mouse
    <section class="desk-scroll" tabIndex={0} aria-label={name}>
      <table class="desk-table wide-table">{children}</table>
    </section>
  );
}
