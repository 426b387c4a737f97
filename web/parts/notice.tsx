/** What a page shows when it has nothing else to show, and when what it shows is no longer followed. */

interface NoticeProps {
  title: string;
  text: string;
  link?: { href: string; text: string };
  /** The page keeps trying by itself, and says so. */
  again?: boolean;
}

/** A whole page in words: loading, failed. */
export function Notice({ title, text, link, again = false }: NoticeProps) {
  return (
    <main class="notice">
      <h1>{title}</h1>
      <p role="status">{text}</p>
      {again && <p>Trying again every few seconds.</p>}
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
  return (
    <div class="lost-corner" role="alert">
      <strong>No link</strong>
      <span>old since {since}</span>
    </div>
  );
}
