/** The hours ahead of a heated workshop, and what came then. */
import { halfHourMs } from "../../predictor/forecast/half-hours.ts";
import { coolingFrom, type HourAhead, hoursAhead } from "../../predictor/forecast/hours-ahead.ts";
import { type HalfHour, learnPlace } from "../../predictor/forecast/place-model.ts";
import { Chart, type Point } from "./chart.ts";
import { hourMs, normals, seeded } from "./invented.ts";

/** A Monday, 28 days before the first hour that is drawn; the invented shop keeps UTC. */
const startMs = Date.UTC(2026, 0, 5);
const nowMs = startMs + 30 * 24 * hourMs + 14 * hourMs;
const heating = { days: [1, 2, 3, 4, 5], fromMinute: 6 * 60, toMinute: 18 * 60 };
const offAtMs = nowMs + 2 * hourMs;

export function hoursFigure(): string {
  const room = inventedWorkshop();
  const past = room.filter(({ startMs: from }) => from < nowMs);
  const model = learnPlace(past, { offsetMs: () => 0, heating });
  const now = { atMs: nowMs, airC: past.at(-1)?.airC ?? Number.NaN };
  const ahead = [{ ...now, coldC: now.airC, warmC: now.airC }, ...hoursAhead(model, now)];
  const fromMs = nowMs - 20 * hourMs;
  const toMs = nowMs + 48 * hourMs;
  const chart = new Chart({
    title: "The hours ahead of an invented workshop, heated Monday to Friday from 06:00 to 18:00",
    description:
      "Up to now the measured temperature, then the forecast for 48 hours with the band between its cold and warm edge, what came then, and the fall when heating goes off two hours from now.",
    x: { label: "hours from now, Wednesday 14:00", from: fromMs, to: toMs, ticks: ticksOfHours(-12, 48) },
    y: { label: "air, °C", from: 4, to: 26, ticks: [5, 10, 15, 20].map((at) => ({ at, text: String(at) })) },
  });
  const line = (hours: readonly HourAhead[], key: "airC" | "coldC" | "warmC") =>
    hours.map((hour): Point => [hour.atMs, hour[key]]);
  const middles = (halves: readonly HalfHour[]) =>
    halves.map(({ startMs: from, airC }): Point => [from + halfHourMs / 2, airC]);
  chart.band(line(ahead, "coldC"), line(ahead, "warmC"), "blue");
  chart.line(middles(past.filter(({ startMs: from }) => from >= fromMs)), "grey");
  chart.line(middles(room.filter(({ startMs: from }) => from >= nowMs && from < toMs)), "grey", {
    dashed: true,
    width: 1.5,
  });
  chart.line(line(ahead, "airC"), "blue");
  const off = coolingFrom(model, ahead, offAtMs).filter(({ atMs }) => atMs >= offAtMs && atMs <= offAtMs + 14 * hourMs);
  chart.line(line(off, "airC"), "orange");
  chart.dot([nowMs, now.airC], "blue");
  chart.text([fromMs, 24.6], "grey: measured, dashed: what came then · blue: forecast and its band", { dx: 10 });
  chart.text([fromMs, 23.2], "orange: heating off two hours from now", { dx: 10 });
  return chart.toString();
}

function ticksOfHours(from: number, to: number): { at: number; text: string }[] {
  const count = (to - from) / 12 + 1;
  return Array.from({ length: count }, (_, n) => ({
    at: nowMs + (from + 12 * n) * hourMs,
    text: String(from + 12 * n).replace("-", "−"),
  }));
}

/** A room that is heated towards 19 °C and leaks towards a wandering outdoors, half hour by half hour. */
function inventedWorkshop(): HalfHour[] {
  const normal = normals(seeded(11));
  const rooms: HalfHour[] = [];
  let airC = 10;
  let weatherK = 0;
  for (let atMs = startMs; atMs < nowMs + 49 * hourMs; atMs += halfHourMs) {
    const hour = (atMs % (24 * hourMs)) / hourMs;
    const weekday = new Date(atMs).getUTCDay();
    const isHeated = weekday >= 1 && weekday <= 5 && hour >= 6 && hour < 18;
    weatherK += -weatherK / 96 + 0.3 * normal();
    const outdoorC = 3 + weatherK + 3 * Math.sin(((hour - 9) / 24) * 2 * Math.PI);
    const restC = isHeated ? 19 + 0.25 * weatherK : outdoorC + 4;
    airC += ((restC - airC) * 0.5) / (isHeated ? 1.5 : 7) + 0.1 * normal();
    rooms.push({ startMs: atMs, airC });
  }
  return rooms;
}
