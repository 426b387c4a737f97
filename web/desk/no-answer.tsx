/** Why there is nothing to see, and the way to sign in where that is the reason. */
import type { ComponentChildren } from "preact";
import { signInPath } from "../parts/router.ts";
import { useWords } from "../parts/words-context.ts";
import { useDesk } from "./desk.tsx";

export function NoAnswer({ failure, children }: { failure: string; children?: ComponentChildren }) {
  const { me, path, search } = useDesk();
  const words = useWords();
  const mustSignIn = me?.isSetUp === true && me.person === null;
  return (
    <div class="desk-notice" role="alert">
      <p>{failure}</p>
      {mustSignIn && (
        <a class="desk-button" href={signInPath(path, search)}>
          {words.t("shell.sign-in")}
        </a>
      )}
      {children}
    </div>
  );
}
