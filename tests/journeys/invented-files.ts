/** The files of an invented shop's coats, held to the contract's own schemas, so that they can't drift from it. */
import { type CoatCourse, coatCourseSchema, type LimitView } from "../../predictor/serve/api.ts";
import { type CoatFile, coatFileSchema, type DeviationView } from "../../predictor/serve/proof-api.ts";
import { exampleStage, minutes } from "../../web/parts/example-coat.ts";
import { coatOf } from "./invented-views.ts";

const minuteMs = 60_000;
export const who = "Quality A";
const painters = ["Painter A", "Painter B"];
const places = [
  { id: "booth", name: "Booth 1", kind: "booth" },
  { id: "prep", name: "Prep bay", kind: "prep" },
] as const;
export const logPlaces = [...places];

const limit = (part: Partial<LimitView>): LimitView => ({
  what: "air temperature",
  value: 20.4,
  min: 15,
  max: 30,
  margin: 5.4,
  state: "inside",
  source: "sheet",
  sensor: "booth-air",
  readingAt: new Date(minutes(0)).toISOString(),
  ...part,
});

const texts: Record<DeviationView["code"], string> = {
  "sprayed-outside-limits": "Humidity 82 % at the finish; the sheet allows at most 75 %",
  "limits-not-judged": "Nothing current told of the limits at the finish",
  "no-prediction": "No prediction: no reading since the finish",
  gap: "13 min without a reading",
  "dried-outside-limits": "22 min outside the limits while drying",
  "window-missed": "The next coat came 40 min after the window had shut",
  "covered-early": "Coated over 15 min before it was safe",
  "not-ready-when-safe": "Not ready at 10:12, though it was safe by then",
};
/** What each coat went off its sheet by, in turn; most by nothing. */
const offSheet: (readonly DeviationView["code"][])[] = [
  [],
  ["gap", "sprayed-outside-limits"],
  [],
  ["not-ready-when-safe"],
  [],
  ["limits-not-judged"],
  ["window-missed"],
  [],
];
const states: CoatFile["state"][] = ["drying", "ready", "released", "held", "withdrawn"];
export const sheetNames: Record<string, string> = { clear: "Invented clear", primer: "Invented surfacer" };

/** As exampleCoat has its instants, moved by so much. */
function moved<T>(value: T, byMs: number): T {
  if (typeof value === "string" && /^\d{4}-\d\d-\d\dT/.test(value))
    return new Date(Date.parse(value) + byMs).toISOString() as T;
  if (Array.isArray(value)) return value.map((each) => moved(each as unknown, byMs)) as T;
  if (typeof value !== "object" || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([key, each]) => [key, moved(each as unknown, byMs)])) as T;
}

/** The nth coat: each state stands among the first five. */
export function fileOf(n: number, finishedMs: number): CoatFile {
  const state = states[n] ?? (n % 3 === 0 ? "ready" : "released");
  const isOver = state !== "drying";
  const at = (minute: number) => new Date(minutes(minute)).toISOString();
  const slow = (n % 4) * 6;
  const stages = [
    exampleStage("touch-dry", "ready", 18 + slow, 24 + slow),
    exampleStage("dust-free", "ready", 32 + slow, 40 + slow),
    exampleStage("sand", isOver ? "ready" : "not yet", 110 + slow, 128 + slow),
    exampleStage("full-cure", "not yet", 3000, 3900),
  ];
  const coat = coatOf(n);
  if (coat.prediction === null) throw new Error("an invented coat has a prediction");
  const sheetId = n % 2 === 0 ? "clear" : "primer";
  const codes = offSheet[n % offSheet.length] ?? [];
  Object.assign(coat, {
    id: `coat-${n}`,
    sheet: { ...coat.sheet, id: sheetId, name: sheetNames[sheetId], kind: n % 2 === 0 ? "clearcoat" : "surfacer" },
    place: places[n % 2] ?? null,
    who: painters[n % 2],
    batches: [
      { component: "paint", batch: "P-1047" },
      { component: "hardener", batch: "H-88" },
    ],
    bands: [
      { kind: "place", text: "Booth 1", from: at(0), to: at(70) },
      { kind: "place", text: "Prep bay", from: at(70), to: null },
      ...(codes.includes("gap") ? [{ kind: "gap", text: "13 min", from: at(80), to: at(93) }] : []),
    ],
    checks: isOver
      ? [
          ["not-yet", 100, false],
          ["ready", 131, true],
        ].map(([name, minute, ready]) => ({
          id: `check-${n}-${name}`,
          stage: "sand",
          at: at(Number(minute) + slow),
          ready,
          how: "nail",
          who: painters[n % 2],
          note: null,
          withdrawn: null,
        }))
      : [],
    sprayCheck: codes.includes("limits-not-judged")
      ? null
      : {
          at: at(0),
          place: "booth",
          sheet: sheetId,
          state: codes.includes("sprayed-outside-limits") ? "do not spray" : "spray",
          limits: [
            limit({}),
            limit({ what: "humidity", value: 82, min: null, max: 75, margin: -7, state: "outside" }),
            limit({ what: "dew-point margin", value: null, min: 3, max: null, margin: null, state: "not measured" }),
          ],
        },
    withdrawn: state === "withdrawn" ? { reason: "wrong car", who: painters[0], at: at(6) } : null,
  });
  Object.assign(coat.prediction, { stages, readyFor: isOver ? "sand" : "dust-free", checkFirst: null });
  coat.prediction.next = stages[isOver ? 3 : 2] ?? null;
  const spread = (mean: number, minutesOutside: number | null) => ({
    min: mean - 2,
    mean,
    max: mean + 3,
    minutesOutside,
  });
  const verdict = { words: "released for the next step", who, role: "quality", at: at(140) } as const;
  const file: CoatFile = {
    coat,
    state,
    figures: {
      releaseStage: "sand",
      until: at(isOver ? 128 + slow : 95),
      isOver,
      airC: spread(20 + (n % 5) / 2, 0),
      panelC: spread(19 + (n % 5) / 2, null),
      rhPercent: spread(48 + (n % 7), n % 3 === 0 ? 22 : 0),
      dewMarginC: n % 6 === 5 ? null : spread(9, 0),
      gapMinutes: codes.includes("gap") ? 13 : 0,
      stages: stages.map(({ stage, likelyAt, safeAt }) => ({
        stage,
        likelyAt,
        safeAt,
        readyCheckedAt: isOver && stage === "sand" ? at(131 + slow) : null,
        notYetCheckedAt: isOver && stage === "sand" ? at(100 + slow) : null,
      })),
      coveredAt: null,
      waitedMinutes: isOver ? 35 : null,
    },
    deviations: codes.map((code) => ({ code, text: texts[code], answers: [] })),
    verdict:
      state === "released"
        ? { state, ...verdict }
        : state === "held"
          ? { state, ...verdict, words: "runs in the clear, to be polished" }
          : null,
    notYet: null,
    entries: [],
    warnings:
      n % 2 === 1
        ? [
            {
              text: "Panel close to the dew point",
              from: at(40),
              to: at(58),
              answer: { who: painters[1] ?? "", done: "heating on", at: at(45) },
            },
          ]
        : [],
    certificates: [],
    head: { seq: 900, hash: "5f".repeat(32) },
  };
  const shifted = moved(file, finishedMs - minutes(0));
  enter(
    shifted,
    "coat-finished",
    `${coat.car}: coat finished`,
    Date.parse(shifted.coat.finishedAt),
    painters[n % 2],
    "painter",
  );
  enter(
    shifted,
    "coat-corrected",
    "Dry film 60 µm → 55 µm: comb read anew",
    Date.parse(shifted.coat.finishedAt) + 5 * minuteMs,
    painters[n % 2],
    "painter",
  );
  return judged(shifted);
}

/** An entry of the log about the coat; by the quality lead, now, unless it says otherwise. */
export function enter(
  file: CoatFile,
  kind: string,
  text: string,
  atMs = Date.now(),
  by = who,
  role: "quality" | "painter" = "quality",
) {
  const seq = (file.entries.at(-1)?.seq ?? 100) + 1;
  const at = new Date(atMs).toISOString();
  file.entries.push({
    seq,
    at,
    clock: "synchronised",
    who: by,
    role,
    kind,
    text,
    hash: `${seq}`.padStart(8, "a").repeat(8),
  });
}

/** As the rules have it: not while it dries, and not with a deviation that nobody answered. */
export function judged(file: CoatFile): CoatFile {
  const open = file.deviations.filter(({ answers }) => answers.length === 0).length;
  file.notYet =
    file.state === "drying"
      ? "it is not safe to sand yet"
      : file.state === "ready" && open > 0
        ? `${open} of its deviations are not answered`
        : null;
  return coatFileSchema.parse(file);
}

/** Two and a half hours of invented air, with the hole where the coat has a gap. */
export function courseOf(file: CoatFile): CoatCourse {
  const fromMs = Date.parse(file.coat.finishedAt);
  const gap = file.coat.bands.find(({ kind }) => kind === "gap");
  const at = Array.from({ length: 150 }, (_, index) => fromMs + index * minuteMs).filter((ms) => ms <= Date.now());
  const known = (value: (minute: number) => number) =>
    at.map((ms, minute) => {
      const isHole = gap !== undefined && ms >= Date.parse(gap.from) && ms < Date.parse(gap.to ?? gap.from);
      return isHole ? null : value(minute);
    });
  const line = (value: (minute: number) => number) => ({
    mean: known(value),
    min: known((minute) => value(minute) - 0.3),
    max: known((minute) => value(minute) + 0.3),
  });
  const body = {
    from: file.coat.finishedAt,
    to: new Date(fromMs + 150 * minuteMs).toISOString(),
    bucketSeconds: 60,
    at: at.map((ms) => new Date(ms).toISOString()),
    airC: line((minute) => 21 + Math.sin(minute / 25) * 1.5),
    rhPercent: line((minute) => 50 + Math.sin(minute / 40) * 8),
    panelC: line((minute) => 19 + Math.sin(minute / 30)),
    dewPointC: known((minute) => 9 + Math.sin(minute / 40)),
    followedPanelC: known((minute) => 19 + Math.sin(minute / 30)),
    curePercent: known((minute) => Math.min(80, minute * 0.55)),
  };
  return coatCourseSchema.parse(body);
}
