/** Signing in: a name, a PIN, and back to where one was. What was entered before is sent then. */
import { useState } from "preact/hooks";
import type { Me } from "../../../predictor/serve/people-api.ts";
import { AskFault, tell } from "../../parts/ask.ts";
import { ownPath } from "../../parts/router.ts";
import { useWords } from "../../parts/words-context.ts";
import { phoneOutbox } from "../core/enter.ts";
import { ActionButton, Page } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { PinPad } from "./pin-pad.tsx";
import "./people.css";

export function SignInPage() {
  const { me, setMe, go, search, failure, outbox } = useShell();
  const words = useWords();
  const [name, setName] = useState<string | null>(null);
  const [pin, setPin] = useState("");
  const [fault, setFault] = useState<string | null>(null);
  const [busy, setBusy] = useState(false);
  const to = ownPath(new URLSearchParams(search).get("to"));

  const signIn = async () => {
    if (name === null || busy) return;
    setBusy(true);
    setFault(null);
    try {
      setMe(await tell<Me>("POST", "/api/sign-in", { name, pin }));
      const { outbox: waiting } = await phoneOutbox();
      void waiting.flush();
      go(to, "instead");
    } catch (error) {
      setPin("");
      setFault(error instanceof AskFault ? error.detail : String(error));
      setBusy(false);
    }
  };
  const waits = outbox?.entries.filter(({ state, who }) => state === "waiting" && who === null).length ?? 0;

  if (name === null) {
    return (
      <Page title={words.t("sign-in.title")} back={to}>
        {waits > 0 && <p class="said-as said-as-waiting">{words.t("sign-in.waits", { count: waits })}</p>}
        {me === null && <p role="status">{failure ?? words.t("shell.loading")}</p>}
        {me !== null && !me.isSetUp && <p>{words.t("shell.not-set-up")}</p>}
        {me?.isSetUp && (
          <>
            <p>{words.t(me.people.length === 0 ? "sign-in.type-name" : "sign-in.who")}</p>
            {me.people.length === 0 ? (
              <TypedName onDone={setName} />
            ) : (
              <ul class="names">
                {me.people.map((each) => (
                  <li key={each}>
                    <ActionButton kind="main" onClick={() => setName(each)}>
                      {each}
                    </ActionButton>
                  </li>
                ))}
              </ul>
            )}
          </>
        )}
        <ul class="settings-links">
          <li>
            <a href="/settings">{words.t("sign-in.settings")}</a>
          </li>
        </ul>
      </Page>
    );
  }
  return (
    <Page title={words.t("sign-in.pin-title", { name })}>
      {fault === null && me !== null && me.rehearsalPin !== null && (
        <p>{words.t("sign-in.rehearsal-pin", { pin: me.rehearsalPin })}</p>
      )}
      {fault !== null && (
        <p class="said-as said-as-refused" role="alert">
          {fault}
        </p>
      )}
      <PinPad pin={pin} onChange={setPin} onDone={() => void signIn()} busy={busy} />
      <p role="status">{busy && words.t("sign-in.busy-here")}</p>
      <ActionButton
        onClick={() => {
          setName(null);
          setPin("");
          setFault(null);
        }}
      >
        {words.t("sign-in.other-name")}
      </ActionButton>
    </Page>
  );
}

/** Where the names are not told to everybody. */
function TypedName({ onDone }: { onDone: (name: string) => void }) {
  const words = useWords();
  const [name, setName] = useState("");
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault();
        if (name.trim() !== "") onDone(name.trim());
      }}
    >
      <label class="field">
        <span>{words.t("sign-in.name")}</span>
        <input
          value={name}
          maxLength={40}
          autocomplete="username"
          onInput={(event) => setName(event.currentTarget.value)}
        />
      </label>
      <ActionButton kind="main" type="submit" disabled={name.trim() === ""}>
        {words.t("sign-in.next")}
      </ActionButton>
    </form>
  );
}
