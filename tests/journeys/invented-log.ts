/** A pretended log of an invented shop: it filters, sorts, and takes what the quality lead says. */
import { z } from "zod";
import type { Role } from "../../predictor/people/people.ts";
import { signOffSchema } from "../../predictor/serve/entries.ts";
import {
  type CoatFile,
  deviationAnswerSchema,
  holdSchema,
  type LogQuery,
  type LogRow,
  logPageQuerySchema,
  logSchema,
} from "../../predictor/serve/proof-api.ts";
import { type Language, wordsOf } from "../../words/words.ts";
import { courseOf, enter, fileOf, judged, logPlaces, sheetNames, who } from "./invented-files.ts";
import { shopIn } from "./invented-views.ts";
import type { Asked, Told } from "./pretend.ts";

const minuteMs = 60_000;

const rowOf = ({ coat, state, figures, deviations }: CoatFile): LogRow => ({
  coat: coat.id,
  carId: coat.carId,
  job: coat.job,
  car: coat.car,
  panels: coat.panels,
  sheet: coat.sheet,
  place: coat.place,
  finishedAt: coat.finishedAt,
  who: coat.who,
  state,
  releaseStage: figures.releaseStage,
  safeAt: figures.stages.find(({ stage }) => stage === figures.releaseStage)?.safeAt ?? null,
  deviations: deviations.map(({ code, answers }) => ({ code, isAnswered: answers.length > 0 })),
  airC: figures.airC,
  rhPercent: figures.rhPercent,
});

function fits(row: LogRow, query: LogQuery): boolean {
  const { from, to, car, panel, sheet, place, who: painter, deviation, state } = query;
  const atMs = Date.parse(row.finishedAt);
  const open = row.deviations.filter(({ isAnswered }) => !isAnswered);
  return (
    (from === undefined || atMs >= Date.parse(from)) &&
    (to === undefined || atMs < Date.parse(to)) &&
    (car === undefined || `${row.job} ${row.car}`.toLowerCase().includes(car.toLowerCase())) &&
    (panel === undefined || row.panels.includes(panel)) &&
    (sheet === undefined || row.sheet.id === sheet) &&
    (place === undefined || row.place?.id === place) &&
    (painter === undefined || row.who === painter) &&
    (state === undefined || row.state === state) &&
    (deviation === undefined ||
      (deviation === "any" ? row.deviations.length > 0 : false) ||
      (deviation === "open" ? open.length > 0 : false) ||
      row.deviations.some(({ code }) => code === deviation))
  );
}

const sortKeys: Record<LogQuery["sort"], (row: LogRow) => string | number> = {
  finished: ({ finishedAt }) => finishedAt,
  car: ({ car }) => car,
  sheet: ({ sheet }) => sheet.name,
  place: ({ place }) => place?.name ?? "",
  who: (row) => row.who,
  deviations: ({ deviations }) => deviations.length,
  state: ({ state }) => state,
};

export class InventedLog {
  readonly files: CoatFile[];
  /** What whoever looks is in the shop; null while nobody is signed in, and `closed` where one must be to read. */
  role: Role | "closed" | null = "quality";
  language: Language = "en";

  /** So many coats, the newest finished 95 minutes before `nowMs`, each five hours after the one before. */
  constructor(count: number, nowMs: number) {
    this.files = Array.from({ length: count }, (_, n) => fileOf(n, nowMs - (95 + n * 300) * minuteMs));
  }

  /** Null for what is not its own. */
  answer({ method, path, query, body }: Asked): Told | null {
    if (this.role === "closed" && path !== "/api/me" && path.startsWith("/api/")) {
      return refused(401, wordsFor(this.language).t("sign-in.needed-to-read"));
    }
    if (path === "/api/shop") {
      return { status: 200, body: { shop: shopIn(this.language), places: logPlaces, asOf: new Date().toISOString() } };
    }
    if (path === "/api/me") {
      const person = this.role === null || this.role === "closed" ? null : { name: who, role: this.role };
      return { status: 200, body: { person, isSetUp: true, people: [who], rehearsalPin: null } };
    }
    if (method === "GET" && path === "/api/log.csv") return { status: 200, body: query };
    if (method === "GET" && path === "/api/log") return this.#page(query);
    const [, kind, id = "", what] = /^\/api\/(coats|cars|certificates)\/([^/]+)\/([a-z-]+)$/.exec(path) ?? [];
    if (kind === "certificates") return { status: 200, body: { certificate: id, as: what } };
    const file = this.files.find(({ coat }) => (kind === "cars" ? coat.carId : coat.id) === decodeURIComponent(id));
    if (kind === undefined) return null;
    if (file === undefined) return refused(404, `There is no coat ${id}.`);
    if (method === "GET")
      return what === "course"
        ? { status: 200, body: courseOf(file) }
        : what === "file"
          ? { status: 200, body: judged(file) }
          : null;
    return this.#entered(file, what ?? "", body);
  }

  #page(query: Record<string, string>): Told {
    const parsed = logPageQuerySchema.safeParse(query);
    if (!parsed.success) return refused(400, z.prettifyError(parsed.error));
    const { page, size, sort, order } = parsed.data;
    const keyOf = sortKeys[sort];
    const rows = this.files.map(rowOf).filter((row) => fits(row, parsed.data));
    rows.sort((a, b) => (keyOf(a) < keyOf(b) ? -1 : keyOf(a) > keyOf(b) ? 1 : 0) * (order === "up" ? 1 : -1));
    const unique = (names: string[]) => [...new Set(names)].sort();
    const body = {
      rows: rows.slice((page - 1) * size, page * size),
      total: rows.length,
      page,
      pages: Math.max(1, Math.ceil(rows.length / size)),
      pending: 0,
      choices: {
        panels: unique(this.files.flatMap(({ coat }) => coat.panels)),
        sheets: Object.entries(sheetNames).map(([id, name]) => ({ id, name })),
        people: unique(this.files.map(({ coat }) => coat.who)),
      },
    };
    return { status: 200, body: logSchema.parse(body) };
  }

  #entered(file: CoatFile, what: string, body: unknown): Told {
    const at = new Date().toISOString();
    const by = { who, role: "quality", at } as const;
    const done = () => ({ status: 201, body: judged(file) });
    if (what === "deviation-answers") {
      const { deviation, answer } = deviationAnswerSchema.parse(body);
      file.deviations.find(({ code }) => code === deviation)?.answers.push({ answer, who, at });
      enter(file, "deviation-answered", `Answered: ${answer}`);
      return done();
    }
    if (what === "sign-offs") {
      if (judged(file).notYet !== null) return refused(409, file.notYet ?? "");
      const { meaning } = signOffSchema.parse(body);
      file.state = "released";
      file.verdict = { state: "released", words: meaning, ...by };
      enter(file, "coat-signed-off", `Released: ${meaning}`);
      return { status: 201, body: judged(file).coat };
    }
    if (what === "hold" || what === "reopening") {
      const { reason } = holdSchema.parse(body);
      file.state = what === "hold" ? "held" : "ready";
      file.verdict = what === "hold" ? { state: "held", words: reason, ...by } : null;
      enter(file, `coat-${what}`, `${what === "hold" ? "Held" : "Opened again"}: ${reason}`);
      return done();
    }
    if (what !== "certificates") return refused(404, "Nothing stands at this address.");
    const digest = `${file.certificates.length + 1}c`.repeat(32);
    file.certificates.push({ digest, at, who, coats: 1 });
    enter(file, "certificate-issued", "Certificate made");
    return { status: 201, body: { digest } };
  }
}

const wordsFor = (language: Language) =>
  wordsOf({ language, timeZone: "Etc/UTC", units: { temperature: "C", clock: "24h" } });

const refused = (status: number, detail: string): Told => ({
  status,
  body: { type: "about:blank", title: "Refused", status, detail },
});
