/** The first person, who installs, with the token of the set-up link; then the others are added. */
import { useState } from "preact/hooks";
import type { Me } from "../../../predictor/serve/people-api.ts";
import { AskFault, tell } from "../../parts/ask.ts";
import { useWords } from "../../parts/words-context.ts";
import { ActionButton, Page } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { newPinFault } from "./pin.ts";
import { PinField } from "./pin-field.tsx";
import "./people.css";

export function SetUpPage() {
  const { me, setMe, go, search } = useShell();
  const words = useWords();
  const [name, setName] = useState("");
  const [pin, setPin] = useState("");
  const [again, setAgain] = useState("");
  const [fault, setFault] = useState<string | null>(null);
  const token = new URLSearchParams(search).get("token") ?? "";

  const setUp = async () => {
    const found = newPinFault(pin, again);
    if (found !== null || name.trim() === "") {
      setFault(words.t(found ?? "people.name-missing"));
      return;
    }
    try {
      setMe(await tell<Me>("POST", "/api/set-up", { token, name: name.trim(), pin }));
      go("/people", "instead");
    } catch (error) {
      setFault(error instanceof AskFault ? error.detail : String(error));
    }
  };
  if (me?.isSetUp === true) {
    return (
      <Page title={words.t("set-up.title")} back="/">
        <p>{words.t("sign-in.set-up-done")}</p>
      </Page>
    );
  }
  return (
    <Page title={words.t("set-up.title")}>
      <p>{words.t(token === "" ? "set-up.no-token" : "set-up.text")}</p>
      {token !== "" && (
        <form
          onSubmit={(event) => {
            event.preventDefault();
            void setUp();
          }}
        >
          <label class="field">
            <span>{words.t("set-up.name")}</span>
            <input
              value={name}
              maxLength={40}
              autocomplete="username"
              onInput={(event) => setName(event.currentTarget.value)}
            />
          </label>
          <PinField label={words.t("pin.new")} value={pin} onChange={setPin} autocomplete="new-password" />
          <PinField label={words.t("pin.again")} value={again} onChange={setAgain} autocomplete="new-password" />
          {fault !== null && (
            <p class="said-as said-as-refused" role="alert">
              {fault}
            </p>
          )}
          <ActionButton kind="main" type="submit">
            {words.t("set-up.done")}
          </ActionButton>
        </form>
      )}
    </Page>
  );
}
