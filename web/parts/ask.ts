/** Asks the predictor, in the language of this device. What is recorded goes through `enter` instead, which keeps it first. */
import type { Problem } from "../../predictor/serve/api.ts";
import { inChosenLanguage, spokenWords } from "./device-memory.ts";

/** After so long without an answer there is none: a link can be dead without saying so. */
const patienceMs = 10_000;

/** Why there is no answer, in words for who reads it. */
export class AskFault extends Error {
  /** Null when nothing answered. */
  readonly status: number | null;
  readonly detail: string;

  constructor(status: number | null, detail: string) {
    super(detail);
    this.name = "AskFault";
    this.status = status;
    this.detail = detail;
  }
}

/** Loads a view, or with a body puts a question by POST. Throws AskFault. */
export function ask<T>(path: string, body?: object): Promise<T> {
  return body === undefined ? answerOf<T>(path, {}) : tell<T>("POST", path, body);
}

/** Sends at once and keeps nothing on the phone, such as a PIN. With a key it is recorded once. Throws AskFault. */
export function tell<T>(method: "POST" | "PATCH", path: string, body: object, key?: string): Promise<T> {
  const headers = { "content-type": "application/json", ...(key === undefined ? {} : { "idempotency-key": key }) };
  return answerOf<T>(path, { method, headers, body: JSON.stringify(body) });
}

async function answerOf<T>(path: string, options: RequestInit): Promise<T> {
  const response = await request(path, options);
  if (!response.ok) throw new AskFault(response.status, await detailOf(response));
  // Something else on the way, such as a sign-in page of the network, answers in its own way.
  const answer: unknown = await response.json().catch(() => undefined);
  if (answer === undefined) throw noAnswer();
  return answer as T;
}

async function request(path: string, options: RequestInit): Promise<Response> {
  const headers = { accept: "application/json", ...(options.headers as Record<string, string> | undefined) };
  try {
    return await fetch(inChosenLanguage(path), { ...options, headers, signal: AbortSignal.timeout(patienceMs) });
  } catch {
    throw noAnswer();
  }
}

const noAnswer = () => new AskFault(null, spokenWords().t("page.no-answer"));

async function detailOf(response: Response): Promise<string> {
  const problem = await response.json().then(
    (said) => said as Partial<Problem> | null,
    () => null,
  );
  const faults = (problem?.faults ?? []).map(({ path, expected, found }) =>
    spokenWords().t("queue.fault", { field: path, expected, found }),
  );
  return [problem?.detail ?? spokenWords().t("page.answered", { status: response.status }), ...faults].join(" ");
}
