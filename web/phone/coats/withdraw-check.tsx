/** Takes a check back, as after a mistap: with a reason, and it stays in the record. */
import { useState } from "preact/hooks";
import { useWords } from "../../parts/words-context.ts";
import { type Entered, enter } from "../core/enter.ts";
import { ActionButton } from "../core/parts.tsx";
import { Reason } from "./reason.tsx";

export function WithdrawCheck({ checkId, said }: { checkId: string; said(entered: Entered): void }) {
  const words = useWords();
  const [isOpen, setOpen] = useState(false);
  if (!isOpen) {
    return (
      <button type="button" class="work-switch" onClick={() => setOpen(true)}>
        {words.t("coat.withdraw-check")}
      </button>
    );
  }
  const send = async (reason: string) => {
    setOpen(false);
    const label = words.t("coat.entry-check-withdrawn");
    said(await enter({ method: "POST", path: `/api/checks/${checkId}/withdrawal`, body: { reason }, label }));
  };
  return (
    <div class="fix">
      <Reason usual={["reason.mistap", "reason.wrong-panels"]} onReason={(reason) => void send(reason)} />
      <ActionButton onClick={() => setOpen(false)}>{words.t("warnings.cancel")}</ActionButton>
    </div>
  );
}
