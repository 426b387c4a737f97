/** Someone tried a coat: which stage, how, and whether it was ready. */
import { useState } from "preact/hooks";
import type { CheckView, CoatView, StageView } from "../../../predictor/serve/api.ts";
import { useWords } from "../../parts/words-context.ts";
import { type Entered, enter } from "../core/enter.ts";
import { ActionButton, Choice, Page } from "../core/parts.tsx";
import { useShell } from "../core/shell.tsx";
import { proposedStage } from "./proposals.ts";
import { When } from "./when.tsx";

interface Props {
  coats: readonly CoatView[];
  done(result: Entered | null): void;
}

const hows = ["thumb", "nail", "sanding", "tape"] as const satisfies readonly CheckView["how"][];

export function CheckTask({ coats, done }: Props) {
  const { clock, nowMs, sheets } = useShell();
  const words = useWords();
  const [coatId, setCoatId] = useState(coats[0]?.id ?? "");
  const coat = coats.find(({ id }) => id === coatId) ?? coats[0];
  const [chosen, setStage] = useState<StageView["stage"] | null>(null);
  const [how, setHow] = useState<CheckView["how"]>("thumb");
  const [atMs, setAtMs] = useState<number | null>(null);
  if (coat === undefined) return null;
  const ofSheet = sheets.find(({ id }) => id === coat.sheet.id)?.stages ?? [];
  const stages = (coat.prediction?.stages ?? ofSheet).map(({ stage }) => stage);
  // Without a prediction nothing is proposed: whoever tried it says what for.
  const stage = chosen ?? proposedStage(coat);
  const send = async (ready: boolean) => {
    if (stage === null) return;
    const label = words.t("check.entry", { stage: words.t(`stage.${stage}`), car: coat.car });
    const body = { stage, ready, how, at: new Date(atMs ?? nowMs).toISOString() };
    done(await enter({ method: "POST", path: `/api/coats/${coat.id}/checks`, body, label }));
  };
  const nameOf = ({ panels, sheet }: CoatView) =>
    `${words.named("kind", sheet.kind)}, ${panels.map((name) => words.named("panel", name)).join(", ")}`;
  return (
    <Page
      title={words.t("check.title")}
      actions={
        <div class="two">
          <ActionButton kind="main" disabled={stage === null} onClick={() => void send(false)}>
            {words.t("check.not-yet")}
          </ActionButton>
          <ActionButton kind="main" disabled={stage === null} onClick={() => void send(true)}>
            {words.t("check.ready")}
          </ActionButton>
          <ActionButton onClick={() => done(null)}>{words.t("warnings.cancel")}</ActionButton>
        </div>
      }
    >
      {coats.length > 1 ? (
        <Choice
          label={words.t("check.which")}
          options={coats.map((each) => ({ value: each.id, text: nameOf(each) }))}
          value={coat.id}
          onChange={(id) => {
            setCoatId(id);
            setStage(null);
          }}
        />
      ) : (
        <p class="about">{`${coat.car}: ${nameOf(coat)}`}</p>
      )}
      <p class="caution">{words.t("check.caution")}</p>
      <Choice<StageView["stage"]>
        label={words.t("check.stage")}
        options={stages.map((each) => ({
          value: each,
          text: words.t(`stage.${each}`),
        }))}
        value={stage}
        onChange={(value) => setStage(value)}
      />
      <Choice<CheckView["how"]>
        label={words.t("check.how")}
        options={hows.map((each) => ({ value: each, text: words.t(`how.${each}`) }))}
        value={how}
        onChange={(value) => setHow(value)}
      />
      {clock !== null && (
        <When label={words.t("check.when")} nowMs={nowMs} clock={clock} value={atMs} onChange={setAtMs} />
      )}
    </Page>
  );
}
