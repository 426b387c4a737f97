/** One entry to the predictor, and what its answer means for the entry. */
import { AskFault, ask, tell } from "../../parts/ask.ts";
import type { Answer } from "./outbox.ts";
import type { Waiting } from "./outbox-store.ts";

/** Of these an entry is not to blame: it is sent again. */
const laterStatuses = [408, 425, 429];

export async function sendEntry({ method, path, body, key }: Waiting): Promise<Answer> {
  try {
    await tell(method, path, body, key);
    return { kind: "taken" };
  } catch (error) {
    if (!(error instanceof AskFault) || error.status === null) return { kind: "no answer" };
    const { status, detail } = error;
    if (status === 401) return { kind: "sign in" };
    if (status >= 500 || laterStatuses.includes(status)) return { kind: "failed" };
    return { kind: "refused", detail };
  }
}

/** Whose session it is by the predictor, asked before entries go out: another tab may have signed in someone else. */
export async function whoIsSignedIn(): Promise<{ name: string } | null | "no answer"> {
  try {
    const { person } = await ask<{ person: { name: string } | null }>("/api/me");
    return person;
  } catch {
    return "no answer";
  }
}

/** What an entry is about, by its path; `carOfCoat` knows the coats of the cars in the shop. */
export function aboutOf(path: string, body: object, carOfCoat: (coat: string) => string | null): string {
  const [, , kind = "", id] = path.split("/");
  if (kind === "cars") return `cars/${id ?? ("id" in body ? String(body.id) : path)}`;
  const car = kind === "coats" && id !== undefined ? carOfCoat(decodeURIComponent(id)) : null;
  return car === null ? `${kind}/${id ?? ""}` : `cars/${car}`;
}
