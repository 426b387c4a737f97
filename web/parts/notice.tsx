/** What a page shows when it has nothing else to show, and when what it shows is no longer followed. */
import { useWords } from "./words-context.ts";

interface NoticeProps {
  title: string;
  text: string;
  link?: { href: string; text: string };
  /** The page keeps trying by itself, and says so. */
  again?: boolean;
}

/** A whole page in words: loading, failed. */
export function Notice({ title, text, link, again = false }: NoticeProps) {
  const words = useWords();
  return (
    <main class="notice">
      <h1>{title}</h1>
      <p role="status">{text}</p>
      {again && <p>{words.t("page.trying")}</p>}
      {link !== undefined && (
        <p>
          <a href={link.href}>{link.text}</a>
        </p>
      )}
    </main>
  );
}

/** Covers a corner while the connection to the predictor is lost. */
export function LostCorner({ since }: { since: string }) {
  const words = useWords();
  return (
    <div class="lost-corner" role="alert">
      <strong>{words.t("page.lost")}</strong>
      <span>{words.t("page.old-since", { time: since })}</span>
    </div>
  );
}

/** The mark of a shop whose data are invented, on every page of it. */
export function InventedMark() {
  return <aside class="invented">{useWords().t("page.invented")}</aside>;
}
