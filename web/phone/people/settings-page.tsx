/** What belongs to this phone: what waits on it, who is signed in, its language, its sound. */
import { useState } from "preact/hooks";
import type { Me } from "../../../predictor/serve/people-api.ts";
import { isLanguage, languages } from "../../../words/language.ts";
import { AskFault, tell } from "../../parts/ask.ts";
import { signInPath } from "../../parts/router.ts";
import { useWords } from "../../parts/words-context.ts";
import { ActionButton, Choice, Page } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { WaitingList } from "../core/waiting.tsx";
import { alertOnce, isAlertOn, setAlert } from "../work/alert.ts";
import { newPinFault } from "./pin.ts";
import { PinField } from "./pin-field.tsx";
import "./people.css";

export function SettingsPage() {
  const { hasCars, language, setLanguage } = useShell();
  const words = useWords();
  return (
    <Page title={words.t("settings.title")} back="/">
      <WaitingList />
      <SignedIn />
      <Choice
        label={words.t("settings.language")}
        options={[
          { value: "shop", text: words.t("settings.language-shop") },
          ...languages.map((each) => ({ value: each, text: words.t(`settings.language-${each}`) })),
        ]}
        value={language ?? "shop"}
        onChange={(value) => setLanguage(isLanguage(value) ? value : null)}
      />
      {hasCars && <Sound />}
    </Page>
  );
}

function SignedIn() {
  const { me, setMe, go, path, search } = useShell();
  const words = useWords();
  const [fault, setFault] = useState<string | null>(null);
  const [isChanging, setChanging] = useState(false);
  const person = me?.person ?? null;
  const signOut = async () => {
    try {
      setMe(await tell<Me>("POST", "/api/sign-out", {}));
    } catch (error) {
      setFault(error instanceof AskFault ? error.detail : String(error));
    }
  };
  return (
    <section>
      <h2>{words.t("settings.signed-in")}</h2>
      {person === null ? (
        <>
          <p>{words.t("settings.nobody")}</p>
          <ActionButton kind="main" onClick={() => go(signInPath(path, search))}>
            {words.t("shell.sign-in")}
          </ActionButton>
        </>
      ) : (
        <>
          <p>
            <b class="pin-who">{person.name}</b>, {words.t(`role.${person.role}`)}
          </p>
          <div class="button-row">
            <ActionButton onClick={() => void signOut()}>{words.t("settings.sign-out")}</ActionButton>
            <ActionButton onClick={() => setChanging(!isChanging)}>{words.t("settings.own-pin")}</ActionButton>
          </div>
          {isChanging && <OwnPin done={() => setChanging(false)} />}
        </>
      )}
      {fault !== null && (
        <p class="said-as said-as-refused" role="alert">
          {fault}
        </p>
      )}
      <ul class="settings-links">
        <li>
          <a href="/log">{words.t("desk.log")}</a>
        </li>
        <li>
          <a href="/people">{words.t("people.title")}</a>
        </li>
      </ul>
    </section>
  );
}

function OwnPin({ done }: { done: () => void }) {
  const { setMe } = useShell();
  const words = useWords();
  const [present, setPresent] = useState("");
  const [pin, setPin] = useState("");
  const [again, setAgain] = useState("");
  const [said, setSaid] = useState<{ text: string; isFault: boolean } | null>(null);
  const change = async () => {
    const found = newPinFault(pin, again);
    if (found !== null) {
      setSaid({ text: words.t(found), isFault: true });
      return;
    }
    try {
      setMe(await tell<Me>("POST", "/api/me/pin", { pin: present, newPin: pin }));
      setSaid({ text: words.t("settings.pin-changed"), isFault: false });
    } catch (error) {
      setSaid({ text: error instanceof AskFault ? error.detail : String(error), isFault: true });
    }
  };
  if (said !== null && !said.isFault) {
    return (
      <p class="said-as" role="status">
        {said.text}
      </p>
    );
  }
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault();
        void change();
      }}
    >
      <PinField label={words.t("pin.present")} value={present} onChange={setPresent} autocomplete="current-password" />
      <PinField label={words.t("pin.new")} value={pin} onChange={setPin} autocomplete="new-password" />
      <PinField label={words.t("pin.again")} value={again} onChange={setAgain} autocomplete="new-password" />
      {said !== null && (
        <p class="said-as said-as-refused" role="alert">
          {said.text}
        </p>
      )}
      <div class="button-row">
        <ActionButton onClick={done}>{words.t("people.cancel")}</ActionButton>
        <ActionButton kind="main" type="submit">
          {words.t("settings.pin-change")}
        </ActionButton>
      </div>
    </form>
  );
}

function Sound() {
  const words = useWords();
  const [isOn, setOn] = useState(isAlertOn);
  return (
    <Choice
      label={words.t("settings.sound")}
      options={[
        { value: "off", text: words.t("settings.sound-off") },
        { value: "on", text: words.t("settings.sound-on"), detail: words.t("settings.sound-more") },
      ]}
      value={isOn ? "on" : "off"}
      onChange={(value) => {
        setAlert(value === "on");
        setOn(value === "on");
        // Heard at once, and the tap lets the browser sound later, too.
        if (value === "on") alertOnce("today");
      }}
    />
  );
}
