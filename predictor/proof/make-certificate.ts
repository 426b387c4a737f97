/** Gathers what a certificate of a coat holds, and sees to it that it can be reckoned again before anyone vouches for it. */
import { type Words, wordsOf } from "../../words/words.ts";
import { type Case, caseReading, caseResult, runCase } from "../cure/case.ts";
import type { Ahead, Outcome } from "../cure/climb.ts";
import { sheetWindows } from "../cure/windows.ts";
import type { CoatState } from "../follow/coat-state.ts";
import type { Follow } from "../follow/follow.ts";
import { carHistory } from "../follow/place-history.ts";
import { aheadOf } from "../plan/place-ahead.ts";
import type { ReadingStore } from "../readings/store.ts";
import { canonical, concernsCoat } from "../records/log.ts";
import { type Car, type Coat, conflict, type Records } from "../records/records.ts";
import type { ShopFile } from "../shop-file.ts";
import { type CarCertificate, type CoatCertificate, carFormat, coatFormat } from "./certificate-file.ts";
import { type CoatFigures, coatFigures } from "./coat-figures.ts";
import { deviationText } from "./deviation-words.ts";

export interface CertificateParts {
  records: Records;
  store: ReadingStore;
  follow: Pick<Follow, "coat" | "freshSetup" | "outlook">;
  shopFile: ShopFile;
  /** Where phones and readers of a certificate find the pages. */
  address: () => string;
  now: () => number;
  version: string;
}

const iso = (ms: number): string => new Date(ms).toISOString();
const isoOrNull = (ms: number | null): string | null => (ms === null ? null : iso(ms));

/** Of all coats of a car that count. Throws RecordFault where it has none. */
export async function carCertificate(parts: CertificateParts, carId: string): Promise<CarCertificate> {
  const { records, now } = parts;
  const car = records.car(carId);
  const coats: CoatCertificate[] = [];
  for (const { id } of records.coatsOf(carId)) coats.push(await coatCertificate(parts, id));
  if (coats.length === 0) throw conflict("certificate.no-coats", { job: car.job });
  const issuedAt = iso(now());
  return { format: carFormat, version: 1, issuedAt, shop: shopPart(parts), car: carPart(car), coats };
}

/**
 * Of any coat, a withdrawn one and one without readings too. Throws RecordFault where there is no such coat, and where its history changed
 * while it was gathered, so that the outcome would not follow from the readings.
 */
export async function coatCertificate(parts: CertificateParts, coatId: string): Promise<CoatCertificate> {
  const { records, store, follow, shopFile, now } = parts;
  const { substrate, sheetId, sheetRevision } = records.coat(coatId);
  const setup = await follow.freshSetup(records.sheet(sheetId, sheetRevision), substrate);
  const state = await follow.coat(coatId);
  const { coat, car, sheet, lastReadingAtMs } = state;
  const nowMs = now();
  const asOfMs = Math.min(nowMs, state.stays.at(-1)?.toMs ?? nowMs);
  const ahead = aheadFor(state, follow, asOfMs);
  const outcome = state.outcomeUnder(asOfMs, ahead);
  const words = wordsOf(shopFile);
  const head = records.head();
  if (head === null) throw new Error("a coat is recorded, so the log can't be empty");
  const entries = records.entriesOf({ carId: car.id }).filter((entry) => concernsCoat(entry, coatId));
  const allChecks = records.checksOf(coatId);
  const history = await carHistory(store, shopFile.places, state.stays);
  const readings = history.readings.filter(({ atMs }) => lastReadingAtMs !== null && atMs <= lastReadingAtMs);
  const figures = coatFigures({
    state: { ...state, outcome },
    readings,
    checks: allChecks.filter(({ withdrawn }) => withdrawn === null),
    coatsOfCar: records.coatsOf(car.id),
    nowMs,
  });
  if (records.head()?.seq !== head.seq) throw conflict("certificate.not-settled");
  const { ladder: _, substrate: __, ...learned } = setup;
  const made: CoatCertificate = {
    format: coatFormat,
    version: 1,
    issuedAt: iso(nowMs),
    program: `Coatclock ${parts.version}`,
    shop: shopPart(parts),
    car: carPart(car),
    coat: coatPart(coat),
    case: {
      name: `${car.job} ${coat.panels.join(", ")}`,
      sheet,
      coat: {
        finishedAt: iso(coat.finishedAtMs),
        substrate,
        ...(coat.filmUm === null ? {} : { filmUm: coat.filmUm }),
        ...(coat.panelAtFinishC === null ? {} : { panelAtFinishC: coat.panelAtFinishC }),
      },
      readings: readings.map(caseReading),
      asOf: iso(asOfMs),
      ...learned,
      ...(ahead === undefined ? {} : { ahead: aheadPart(ahead) }),
    },
    outcome: caseResult(outcome),
    ...outcomeParts(state, outcome, words),
    figures: figuresPart(figures),
    deviations: deviationsPart(parts, state, figures, words),
    checks: allChecks.map(({ stage, atMs, ready, how, who, note, withdrawn }) => ({
      stage,
      at: iso(atMs),
      ready,
      how,
      who,
      note,
      withdrawn: withdrawalPart(withdrawn),
    })),
    moves: car.moves.map(({ atMs, place, who }) => ({ at: iso(atMs), place, who })),
    places: placesPart(car, shopFile),
    ...signaturesPart(coat, records),
    entries,
    head: { seq: head.seq, hash: head.hash, at: iso(head.atMs) },
  };
  refuseUnsettled(made);
  return made;
}

/** Where it stands now, as the forecast has it; undefined where it has left, or nothing is known. */
function aheadFor({ place }: CoatState, follow: Pick<Follow, "outlook">, asOfMs: number): Ahead | undefined {
  const known = place === null ? null : follow.outlook(place);
  return known === null ? undefined : aheadOf(known, asOfMs);
}

function aheadPart({ likely, cold }: Ahead): NonNullable<Case["ahead"]> {
  return { likely: likely.map(caseReading), ...(cold === undefined ? {} : { cold: cold.map(caseReading) }) };
}

/** Throws where the outcome does not follow from what stands beside it: a reading came, or a check taught something, meanwhile. */
function refuseUnsettled({ case: input, outcome }: CoatCertificate): void {
  const again = runCase(input);
  if ("faults" in again) throw new Error(`a certificate's own case does not fit: ${JSON.stringify(again.faults)}`);
  if (canonical(again.result) !== canonical(outcome)) throw conflict("certificate.not-settled");
}

function shopPart({ shopFile, address }: CertificateParts): CoatCertificate["shop"] {
  const { shop, name, invented, language, timeZone, units } = shopFile;
  return { id: shop, name, invented, address: address(), language, timeZone, units };
}

function carPart({ id, job, name }: Car): CoatCertificate["car"] {
  return { id, job, name };
}

function coatPart({ id, panels, batches, who, enteredAtMs, sprayCheck, withdrawn }: Coat): CoatCertificate["coat"] {
  return {
    id,
    panels,
    batches,
    who,
    enteredAt: iso(enteredAtMs),
    sprayCheck: sprayCheck && {
      at: iso(sprayCheck.atMs),
      place: sprayCheck.place,
      state: sprayCheck.state,
      limits: sprayCheck.limits.map(({ readingAtMs, ...limit }) => ({ ...limit, readingAt: isoOrNull(readingAtMs) })),
    },
    withdrawn: withdrawalPart(withdrawn),
  };
}

function withdrawalPart(withdrawn: Coat["withdrawn"]): CoatCertificate["coat"]["withdrawn"] {
  return withdrawn && { reason: withdrawn.reason, who: withdrawn.who, at: iso(withdrawn.atMs) };
}

function outcomeParts(
  { coat, sheet }: CoatState,
  outcome: Outcome,
  words: Words,
): Pick<CoatCertificate, "notes" | "windows"> {
  return {
    notes: outcome.notes.map((note) => ({
      code: note.code,
      text: words.say(note.text),
      from: isoOrNull(note.fromMs ?? null),
      to: isoOrNull(note.toMs ?? null),
    })),
    windows: sheetWindows(sheet, outcome, coat.finishedAtMs, outcome.asOfMs).map((window) => ({
      for: window.for,
      opensAt: isoOrNull(window.opensAtMs),
      closesAt: isoOrNull(window.closesAtMs),
      ifMissed: window.ifMissed,
    })),
  };
}

function figuresPart({
  untilMs,
  coveredAtMs,
  stages,
  deviations: _,
  ...rest
}: CoatFigures): CoatCertificate["figures"] {
  return {
    ...rest,
    until: iso(untilMs),
    coveredAt: isoOrNull(coveredAtMs),
    stages: stages.map((each) => ({
      stage: each.stage,
      likelyAt: isoOrNull(each.likelyAtMs),
      safeAt: isoOrNull(each.safeAtMs),
      readyCheckedAt: isoOrNull(each.readyCheckedAtMs),
      notYetCheckedAt: isoOrNull(each.notYetCheckedAtMs),
    })),
  };
}

function deviationsPart(
  { records }: CertificateParts,
  state: CoatState,
  figures: CoatFigures,
  words: Words,
): CoatCertificate["deviations"] {
  const answers = records.deviationAnswers(state.coat.id);
  return figures.deviations.map((code) => ({
    code,
    text: words.say(deviationText(code, figures, state)),
    answers: answers
      .filter(({ deviation }) => deviation === code)
      .map(({ answer, who, atMs }) => ({ answer, who, at: iso(atMs) })),
  }));
}

function placesPart({ moves }: Car, { places }: ShopFile): CoatCertificate["places"] {
  const named = new Set(moves.flatMap(({ place }) => (place === null ? [] : [place])));
  return Object.fromEntries(
    [...named].flatMap((id) => {
      const place = places[id];
      if (place === undefined) return [];
      const { name, airSpeedMps } = place;
      const sensors = Object.fromEntries(Object.entries(place.sensors).filter(([, sensor]) => sensor !== undefined));
      return [[id, { name, sensors, ...(airSpeedMps === undefined ? {} : { airSpeedMps }) }]];
    }),
  );
}

function signaturesPart(
  { id, verdict }: Coat,
  records: Records,
): Pick<CoatCertificate, "corrections" | "signOffs" | "verdict"> {
  return {
    corrections: records.corrections(id).map(({ atMs, who, reason, field, was, became }) => {
      const shown = (value: string | number) => (field === "finishedAtMs" ? iso(Number(value)) : value);
      const names = { finishedAtMs: "finishedAt", filmUm: "filmUm", sheetId: "sheet" } as const;
      const values = { was: was === null ? null : shown(was), became: shown(became) };
      return { at: iso(atMs), who, reason, field: names[field], ...values };
    }),
    signOffs: records.signOffs(id).map(({ meaning, who, role, atMs }) => ({ meaning, who, role, at: iso(atMs) })),
    verdict: verdict && {
      state: verdict.state,
      words: verdict.words,
      who: verdict.who,
      role: verdict.role,
      at: iso(verdict.atMs),
    },
  };
}
