/** What the records hold of a coat: the spray check, batches, warnings, certificates, and every entry. */
import { useState } from "preact/hooks";
import { inChosenLanguage } from "../../parts/device-memory.ts";
import { limitWords } from "../../parts/limit-words.ts";
import { useWords } from "../../parts/words-context.ts";
import type { ShownFile } from "../coat-ref.ts";
import { useDesk } from "../desk.tsx";
import { roleWord } from "./role-word.ts";
import { useAct } from "./use-act.ts";

export function SprayCheck({ file }: { file: ShownFile }) {
  const words = useWords();
  const { sprayCheck } = file.coat;
  return (
    <section>
      <h2>{words.t("coat.spray-check")}</h2>
      {sprayCheck === null ? (
        <p>{words.t("file.no-spray-check")}</p>
      ) : (
        <>
          <p>
            <b>{words.named("verdict", sprayCheck.state)}</b> <small>{words.dateTime(Date.parse(sprayCheck.at))}</small>
          </p>
          <table class="desk-table spray-limits">
            <thead>
              <tr>
                <td />
                <th scope="col">{words.t("file.measured")}</th>
                <th scope="col">{words.t("file.limit")}</th>
                <th scope="col">{words.t("file.margin")}</th>
              </tr>
            </thead>
            <tbody>
              {sprayCheck.limits.map((limit) => {
                const { name, value, bounds, margin, source } = limitWords(limit, words);
                return (
                  <tr key={limit.what}>
                    <th scope="row">{name}</th>
                    <td>
                      {value}
                      {limit.sensor !== null && <small>{limit.sensor}</small>}
                    </td>
                    <td>
                      {bounds} <small>{source}</small>
                    </td>
                    <td class={limit.state === "outside" ? "is-outside" : undefined}>{margin}</td>
                  </tr>
                );
              })}
            </tbody>
          </table>
        </>
      )}
    </section>
  );
}

export function Batches({ file }: { file: ShownFile }) {
  const words = useWords();
  const { batches } = file.coat;
  return (
    <section>
      <h2>{words.t("file.batches")}</h2>
      {batches.length === 0 && <p>{words.t("file.no-batches")}</p>}
      <dl class="file-facts">
        {batches.map(({ component, batch }) => (
          <>
            <dt>{words.named("component", component)}</dt>
            <dd>{batch}</dd>
          </>
        ))}
      </dl>
    </section>
  );
}

/** Numbered as on the strip under the rail. */
export function FileWarnings({ file }: { file: ShownFile }) {
  const { clock, nowMs } = useDesk();
  const words = useWords();
  if (file.warnings.length === 0) return null;
  return (
    <section>
      <h2>{words.t("warnings.title")}</h2>
      <ol class="file-warnings">
        {file.warnings.map(({ text, from, to, answer }) => {
          const fromMs = Date.parse(from);
          const since = words.when(fromMs, nowMs);
          return (
            <li key={`${from} ${text}`}>
              {text}{" "}
              <small>
                {to === null
                  ? words.t("warnings.since", { time: since })
                  : words.t("span.temperatures", { from: since, to: clock.whenAfter(fromMs, Date.parse(to), nowMs) })}
              </small>
              <p>
                {answer === null
                  ? words.t("file.warning-unanswered")
                  : words.t("warnings.answered-by", {
                      who: answer.who,
                      time: words.when(Date.parse(answer.at), nowMs),
                      done: answer.done,
                    })}
              </p>
            </li>
          );
        })}
      </ol>
    </section>
  );
}

export function Certificates({ file, reload }: { file: ShownFile; reload(): void }) {
  const { me, office } = useDesk();
  const words = useWords();
  const act = useAct();
  const { coat, certificates, state } = file;
  const make = async (path: string) => {
    if (await act.send(path, {})) reload();
  };
  const mayMake = office === null && me?.person?.role === "quality" && state !== "withdrawn";
  return (
    <section>
      <h2>{words.t("file.certificates")}</h2>
      {certificates.length === 0 && <p>{words.t("file.no-certificate")}</p>}
      <ul class="file-certificates">
        {certificates.map(({ digest, at, who, coats }) => (
          <li key={digest}>
            <span>
              {words.t("file.by", { who, time: { dateMs: Date.parse(at) } })}, {words.t("file.coats", { count: coats })}
              <small class="digest">{digest}</small>
            </span>
            {office === null && (
              <>
                <a
                  class="desk-button"
                  href={inChosenLanguage(`/api/certificates/${digest}/print`)}
                  target="_blank"
                  rel="noopener"
                >
                  {words.t("file.certificate-print")}
                </a>
                <a class="desk-button" href={`/api/certificates/${digest}/file`} download>
                  {words.t("file.certificate-file")}
                </a>
              </>
            )}
          </li>
        ))}
      </ul>
      {mayMake && (
        <p class="file-makers">
          <button
            type="button"
            class="desk-button"
            disabled={act.isBusy}
            onClick={() => void make(`/api/coats/${encodeURIComponent(coat.id)}/certificates`)}
          >
            {words.t("file.certificate-make")}
          </button>
          <button
            type="button"
            class="desk-button"
            disabled={act.isBusy}
            onClick={() => void make(`/api/cars/${encodeURIComponent(coat.carId)}/certificates`)}
          >
            {words.t("file.certificate-car")}
          </button>
        </p>
      )}
      {act.failure !== null && <p role="alert">{words.t("file.not-recorded", { why: act.failure })}</p>}
    </section>
  );
}

/** By these one cannot be sure of an entry's time. */
const unsureClocks = ["unknown", "unsynchronised", "jumped"];

export function Entries({ file }: { file: ShownFile }) {
  const words = useWords();
  const [isOpen, setOpen] = useState(true);
  return (
    <section class="file-entries">
      <details open={isOpen} onToggle={(event) => setOpen(event.currentTarget.open)}>
        <summary>
          <h2>{words.t("file.entries", { count: file.entries.length })}</h2>
        </summary>
        <ol>
          {file.entries.map(({ seq, at, clock, who, role, text, hash }) => (
            <li key={seq}>
              <span>
                {words.dateTime(Date.parse(at))}
                {unsureClocks.includes(clock) && <small>{words.t("file.clock-unsure")}</small>}
              </span>
              <span>
                {who} <small>{roleWord(role, words)}</small>
              </span>
              <b>{text}</b>
              <small class="digest" title={hash}>
                {words.t("file.entry", { seq, hash: hash.slice(0, 12) })}
              </small>
            </li>
          ))}
        </ol>
        <p class="hint digest">{words.t("file.head", { seq: file.head.seq, hash: file.head.hash })}</p>
      </details>
    </section>
  );
}
