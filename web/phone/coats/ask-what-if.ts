/** Puts a what-if to the predictor. It is a question: the answer is shown and nothing is recorded. */
import type { Problem } from "../../../predictor/serve/api.ts";
import type { WhatIfView } from "../../../predictor/serve/entries.ts";
import type { Words } from "../../../words/words.ts";
import type { WhatIfQuestion } from "./what-if-choices.ts";

export type WhatIfAnswer = { kind: "answer"; view: WhatIfView } | { kind: "fault"; text: string; faults: string[] };

/** The answer, or why there is none in words; null when the question was given up. */
export async function askWhatIf(
  question: WhatIfQuestion,
  send: (url: string, options: RequestInit) => Promise<Response>,
  words: Words,
  signal: AbortSignal,
): Promise<WhatIfAnswer | null> {
  try {
    const response = await send("/api/what-if", {
      method: "POST",
      headers: { "content-type": "application/json", accept: "application/json" },
      body: JSON.stringify(question),
      signal,
    });
    if (response.ok) return { kind: "answer", view: (await response.json()) as WhatIfView };
    const problem = await response.json().then(
      (body: Partial<Problem> | null) => body,
      () => null,
    );
    if (signal.aborted) return null;
    return {
      kind: "fault",
      text: problem?.detail ?? words.t("ask.fault", { status: response.status }),
      faults: (problem?.faults ?? []).map(({ path, expected, found }) =>
        words.t("queue.fault", { field: path, expected, found }),
      ),
    };
  } catch {
    return signal.aborted ? null : { kind: "fault", text: words.t("ask.no-answer"), faults: [] };
  }
}
