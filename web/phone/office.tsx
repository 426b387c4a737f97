/** A head office's own people: it has no cars, and all else there stands at the desk. */
import { useEffect } from "preact/hooks";
import "../style/base.css";
import "./core/core.css";
import "./core/shell.css";
import { chosenLanguage } from "../parts/device-memory.ts";
import { openPage } from "../parts/open-page.tsx";
import { ShellProvider, useShell } from "./core/shell.tsx";
import { pageAt } from "./page-at.ts";
import { peoplePages } from "./people/people-pages.tsx";

function Frame() {
  const { path, search } = useShell();
  const shown = pageAt(peoplePages, path);
  useEffect(() => {
    if (shown === null) location.replace("/log");
  }, [shown]);
  return (
    <div class="shell">
      <div key={path + search}>{shown}</div>
    </div>
  );
}

void openPage(
  chosenLanguage(),
  <ShellProvider hasCars={false}>
    <Frame />
  </ShellProvider>,
);
