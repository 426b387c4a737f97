/** The frame of a desk page: where one is, what else there is, who is signed in. */
import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import type { TextKey } from "../../words/text.ts";
import { signInPath } from "../parts/router.ts";
import { useWords } from "../parts/words-context.ts";
import { useDesk } from "./desk.tsx";

type Places = readonly [href: string, text: TextKey][];

const ofOffice: Places = [
  ["/log", "desk.log"],
  ["/predictions", "desk.predictions"],
  ["/shops", "desk.shops"],
];
const ofShop: Places = [
  ["/log", "desk.log"],
  ["/sheets", "desk.sheets"],
  ["/predictions", "desk.predictions"],
  ["/sensors", "desk.sensors"],
  ["/", "desk.cars"],
];

interface Props {
  title: string;
  /** Beside the title: what is done with the whole page. */
  actions?: ComponentChildren;
  children?: ComponentChildren;
}

export function DeskPage({ title, actions, children }: Props) {
  const { me, office, path, search } = useDesk();
  const places = office === null ? ofShop : ofOffice;
  const words = useWords();
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => heading.current?.focus({ preventScroll: true }), []);
  useEffect(() => {
    document.title = `${title} – Coatclock`;
  }, [title]);
  const who = me?.person?.name ?? null;
  return (
    <div class="desk">
      <nav class="desk-nav" aria-label={words.t("desk.pages")}>
        {places.map(([href, text]) => (
          <a key={href} href={href} aria-current={path === href || path.startsWith(`${href}/`) ? "page" : undefined}>
            {words.t(text)}
          </a>
        ))}
        <a class="desk-who" href={who === null ? signInPath(path, search) : "/settings"}>
          {who ?? words.t("shell.sign-in")}
        </a>
      </nav>
      <header class="desk-head">
        {office !== null && <CopyMark />}
        <h1 ref={heading} tabIndex={-1}>
          {title}
        </h1>
        {actions}
      </header>
      <main class="desk-main">{children}</main>
    </div>
  );
}

/** On every page of a head office: two sheets, one a copy of the other. */
function CopyMark() {
  const words = useWords();
  return (
    <p class="desk-copy">
      <svg class="shape" viewBox="0 0 38 38" aria-hidden="true" focusable="false">
        <path class="line" d="M4 3 h20 v6 M4 3 v24 h6 M12 10 h22 v25 h-22 Z" />
      </svg>
      {words.t("office.copy")}
    </p>
  );
}
